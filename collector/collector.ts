import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { Counter } from 'prom-client';
import type { ClockSetting } from '@setwell/shared-models/api/clock';
import type { Judgement } from '@setwell/shared-models/api/collector';
import type { Finding } from '@setwell/shared-models/plant/finding';
import type { Plant } from '@setwell/shared-models/plant/plant';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import type { PlantRevised, RecipeProposed } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { LotFile } from '@setwell/shared-models/record/lot-file';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import { Adviser } from './advice/adviser.ts';
import type { Clock } from './clock.ts';
import { recordedLot } from './export/recorded-lot.ts';
import type { Bus, BusStatus } from './intake/bus.ts';
import { Intake, type Arrival, type Outcome } from './intake/intake.ts';
import type { BusParts } from './intake/plant-bus.ts';
import { openJournal, openJournalReader, type Journal } from './journal/journal.ts';
import type { JournalReader } from './journal/shape.ts';
import { Documents } from './judge/documents.ts';
import { Judge, type JudgeStep } from './judge/judge.ts';
import { InlineJudging, WorkerJudging, type Judging } from './judge/judging.ts';
import { LedgerFold } from './judge/ledger-fold.ts';
import { parsers } from './judge/parsers.ts';
import { scoreModel } from './judge/score-model.ts';
import { openLedger } from './ledger/ledger.ts';
import type { Ledger, Proposal } from './ledger/shape.ts';
import { FolderLock } from './lock.ts';
import { Metrics } from './metrics.ts';
import { callsOfFaults, readRecipeFolder } from './recipe-folder.ts';
import { Acts } from './serve/acts.ts';
import { helloOf, startable } from './serve/hello.ts';
import { Judgements } from './serve/judgements.ts';
import { LiveReadings } from './serve/live-readings.ts';
import { LotIndex } from './serve/lot-index.ts';
import { routesOf } from './serve/routes.ts';
import { tokenIn } from './serve/token.ts';
import { startUplink, type Uplink } from './uplink/uplink.ts';
import { InterfaceServer, type ServerAddress } from './serve/server.ts';

export interface CollectorSetting {
  plantFile: string;
  dataDir: string;
  clock: Clock;
  clockSetting: ClockSetting;
  /** `inline` where a simulation steps the clock, `worker` where intake must not wait. */
  judge: 'worker' | 'inline';
  /** Connects to where readings come from; absent where they are handed over by `accept`. */
  bus?: (parts: BusParts) => Bus | Promise<Bus>;
  /** Where the small interface answers; absent: nowhere. */
  serve?: ServerAddress;
  version: string;
  /** Judging at most so often a load [ms of plant time]; a second of the wall's by default. */
  judgeEveryMs?: number;
  /** Looking at the journal so often [ms of plant time]; a quarter second of the wall's by default. */
  stepEveryMs?: number;
  /** One line for whoever runs it. */
  log?: (line: string) => void;
  /** A bug or a disk that refuses: the process ends, and its supervisor starts it again. */
  onFatal?: (error: unknown) => void;
}

/** A file of ours that cannot be used, with every place where it is wrong. */
export class BadPlant extends Error {
  readonly findings: Finding[];

  constructor(file: string, findings: Finding[]) {
    super(`${file}: ${String(findings.length)} findings`);
    this.findings = findings;
  }
}

const collectorName = 'c1';
/** A judge further behind than this says so [ms of wall time]. */
const lateAfterMs = 5000;

/** @throws BadPlant, FolderHeld, LedgerError, JournalError */
export function createCollector(setting: CollectorSetting): Collector {
  return new Collector(setting);
}

/**
 * The whole collector: journal, ledger, judge, advice, interface, over one clock.
 *
 * Readings and events go into the journal and nowhere else; the judge follows the journal; what it
 * proposes is appended to the ledger before anybody is told.
 */
export class Collector {
  readonly plant: Plant;
  readonly journal: JournalReader;
  readonly ledger: Ledger;
  readonly metrics = new Metrics();
  readonly #setting: CollectorSetting;
  readonly #lock: FolderLock;
  readonly #writer: Journal;
  readonly #intake: Intake;
  readonly #fold = new LedgerFold();
  readonly #documents = new Documents(parsers);
  readonly #lots = new LotIndex();
  readonly #judging: Judging;
  readonly #judgements = new Judgements();
  readonly #live: LiveReadings;
  readonly #acts: Acts;
  readonly #adviser: Adviser;
  readonly #refused: Counter;
  readonly #firstJudged = promised();
  readonly #connected = promised();
  #bus: Bus | null = null;
  #uplink: Uplink | null = null;
  #server: InterfaceServer | null = null;
  #cancelStep: (() => void) | null = null;
  #reachedMs: number;
  #stopped = false;

  constructor(setting: CollectorSetting) {
    const { plantFile, dataDir, clock } = setting;
    this.#setting = setting;
    const plantText = readFileSync(plantFile);
    const read = readPlant(plantText.toString('utf8'), plantFile);
    if (!read.ok) throw new BadPlant(plantFile, read.findings);
    this.plant = read.value;
    this.#lock = new FolderLock(dataDir);
    const journalFile = join(dataDir, 'journal.db');
    this.#writer = openJournal(journalFile);
    this.journal = openJournalReader(journalFile);
    const log = `${this.plant.site.id}/${collectorName}/1`;
    this.ledger = openLedger(join(dataDir, 'ledger.db'), log, clock);
    this.#reachedMs = clock.monotonicMs();
    this.#refused = new Counter({
      name: 'setwell_events_refused_total',
      help: 'Station events that were not believed, by reason',
      labelNames: ['code'],
      registers: [this.metrics.registry],
    });
    const { metrics, plant } = this;
    this.#intake = new Intake({ plant, journal: this.#writer, clock, metrics });
    this.#live = new LiveReadings(plant, this.journal);
    this.#intake.onCommit((batch) => this.#live.take(batch));
    this.#judging = this.#createJudging(journalFile);
    this.#acts = new Acts({
      ledger: this.ledger,
      clock,
      accept: (arrivals) => this.accept(arrivals),
      append: (proposals) => this.append(proposals),
      step: () => this.step(),
    });
    this.#adviser = new Adviser(plant, {
      clock,
      collector: collectorName,
      publish: (topic, payload) => this.#bus?.publish(topic, payload, { retain: true, qos: 0 }),
      everyMs: 5000 * setting.clockSetting.rate,
      behindMs: () => clock.monotonicMs() - this.#reachedMs,
      lateAfterMs: lateAfterMs * setting.clockSetting.rate,
    });
    this.#hearHistory();
    this.#recordFiles(plantText);
    this.#judging.resume();
  }

  /** Connects, answers, and goes on until stopped. @returns where the interface answers */
  async start(): Promise<{ url: string | null; tokenFile: string | null }> {
    const { bus, clock, serve, log } = this.#setting;
    if (bus) {
      this.#bus = await bus({
        plant: this.plant,
        collector: collectorName,
        intake: this.#intake,
        clock,
        metrics: this.metrics,
        expectsSession: this.journal.head() > 0,
        onSessionLost: () =>
          void this.append([{ kind: 'session-lost', by: 'collector', about: {}, body: {} }]),
      });
      this.#bus.onStatus(({ connected }) => {
        if (!connected) return;
        this.#adviser.again();
        this.#connected.resolve();
      });
      if (this.#bus.status().connected) this.#connected.resolve();
    }
    this.#adviser.start();
    this.#uplink = startUplink({ ...this.#setting, collected: this, random: Math.random });
    this.#stepOn();
    if (!serve) return { url: null, tokenFile: null };
    const tokenFile = join(this.#setting.dataDir, 'token');
    this.#server = new InterfaceServer(routesOf(this.#served()), tokenIn(tokenFile), (error) =>
      log?.(error instanceof Error ? (error.stack ?? error.message) : String(error)),
    );
    const url = await this.#server.listen(serve);
    this.#lock.answersAt(url);
    return { url, tokenFile };
  }

  async stop(): Promise<void> {
    if (this.#stopped) return;
    this.#stopped = true;
    this.#cancelStep?.();
    this.#adviser.stop();
    await Promise.all([this.#bus?.close(), this.#uplink?.stop()]);
    await this.#server?.close();
    await this.#judging.stop();
    this.journal.close();
    this.#writer.close();
    this.ledger.close();
    this.#lock.release();
  }

  /** What has arrived, as from a bus; on the disk when it returns. */
  accept(arrivals: Arrival[]): Outcome[] {
    return this.#intake.accept(arrivals);
  }

  /** Lets the judge look now. */
  step(): void {
    if (!this.#stopped) this.#judging.step(this.#setting.clock.nowMs());
  }

  /** Appends what people did; the judge hears it. */
  append(proposals: Proposal[]): Entry[] {
    const before = this.ledger.size();
    const entries = this.ledger.append(proposals);
    const fresh = entries.filter(({ n }) => n >= before);
    this.#hear(fresh);
    return entries;
  }

  nowMs(): number {
    return this.#setting.clock.nowMs();
  }

  /** How it stands with where readings come from. */
  bus(): BusStatus {
    return this.#bus?.status() ?? { connected: false, sinceMs: null, url: '', faults: [] };
  }

  /** When the broker has answered for the first time. */
  connected(): Promise<void> {
    return this.#connected.promise;
  }

  /** When the judge has looked once at all there was. */
  firstJudged(): Promise<void> {
    return this.#firstJudged.promise;
  }

  /** What is said of each running load now. */
  judgements(): Judgement[] {
    return this.#judgements.open();
  }

  lot(lot: string): LotFile | null {
    return recordedLot(this.ledger, this.#lots, lot, this.plant.site);
  }

  trace(load: string): Promise<LoadTrace | null> {
    const sealed = this.#fold.finished.get(load)?.sealed;
    if (!sealed) return this.#judging.trace({ load, nowMs: this.#setting.clock.nowMs() });
    const input = this.ledger.blob(sealed.input.sha256);
    const readings = this.ledger.blob(sealed.readings.sha256);
    if (!input || !readings || sealed.worst === null) return Promise.resolve(null);
    return this.#judging.trace({
      input: input.toString('utf8'),
      readingsCsv: readings.toString('utf8'),
    });
  }

  #createJudging(journalFile: string): Judging {
    const { judge, clockSetting, onFatal } = this.#setting;
    const judgeEveryMs = this.#setting.judgeEveryMs ?? 1000 * clockSetting.rate;
    const every = { judgeEveryMs, forecastEveryMs: Math.max(5000, judgeEveryMs) };
    const onStep = (step: JudgeStep) => this.#take(step);
    if (judge === 'worker') {
      const onFault = (error: Error) => onFatal?.(error);
      return new WorkerJudging({ journalFile, ...every }, onStep, onFault);
    }
    const documents = new Documents(parsers);
    const inline = new Judge({ journal: this.journal, documents, model: scoreModel, ...every });
    return new InlineJudging(inline, (bytes) => documents.add(bytes), onStep);
  }

  /** Everything said so far, in slices: the folds are made of it, and of nothing else. */
  #hearHistory(): void {
    const slice = 1000;
    for (let after = -1; ;) {
      const stored = this.ledger.entriesAfter(after, slice);
      this.#hear(stored.map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry));
      if (stored.length < slice) return;
      after = stored.at(-1)?.n ?? after;
    }
  }

  #hear(entries: Entry[]): void {
    const documents: Buffer[] = [];
    for (const entry of entries) {
      this.#fold.take(entry);
      this.#lots.take(entry);
      const sha256 = documentOf(entry);
      const bytes = sha256 === null ? null : this.ledger.blob(sha256);
      if (bytes) {
        documents.push(bytes);
        this.#documents.add(bytes);
      }
    }
    this.#judging.hear(entries, documents);
  }

  /** The plant's file and recipes, where they are new: recorded before anything rests on them. */
  #recordFiles(plantText: Buffer): void {
    const sha256 = createHash('sha256').update(plantText).digest('hex');
    const proposals: Proposal[] = [];
    if (this.#fold.plantSha256 !== sha256) {
      const body: PlantRevised = { sha256, bytes: plantText.length };
      proposals.push({ kind: 'plant-revised', by: 'plant', about: {}, body, blobs: [plantText] });
    }
    const { plantFile, log } = this.#setting;
    const folder = readRecipeFolder(plantFile, this.#fold);
    proposals.push(...folder.proposals);
    for (const { file, line, field, found, expected } of folder.faults) {
      log?.(`${file}:${String(line)}: ${field}: found ${found}, expected ${expected}`);
    }
    proposals.push(...callsOfFaults(folder.faults, this.#fold));
    if (proposals.length > 0) this.append(proposals);
  }

  /** What a look of the judge has found: appended first, then told. */
  #take(step: JudgeStep): Entry[] {
    if (this.#stopped) return [];
    try {
      const entries = step.proposals.length > 0 ? this.ledger.append(step.proposals) : [];
      for (const entry of entries) {
        this.#fold.take(entry);
        this.#lots.take(entry);
      }
      if (step.reachedHead) {
        this.#reachedMs = this.#setting.clock.monotonicMs();
        this.#firstJudged.resolve();
      }
      for (const { refusal } of step.refusals) this.#refused.inc({ code: refusal.code });
      this.#acts.settle(entries, step.refusals);
      this.#judgements.take(step.judgements, step.stations);
      this.#adviser.take(step.judgements, step.reachedHead);
      return entries;
    } catch (error) {
      this.#setting.onFatal?.(error);
      throw error;
    }
  }

  #stepOn(): void {
    const { clock, clockSetting, stepEveryMs = 250 * clockSetting.rate } = this.#setting;
    this.step();
    this.#cancelStep = clock.after(stepEveryMs, () => this.#stepOn());
  }

  #served() {
    const { clock, clockSetting, version } = this.#setting;
    return {
      nowMs: () => clock.nowMs(),
      hello: () =>
        helloOf({
          version,
          collector: collectorName,
          log: this.ledger.log,
          plant: this.plant,
          clock: clockSetting,
          nowMs: clock.nowMs(),
          recipes: startable(this.#fold, this.#documents),
          bus: this.#bus?.status() ?? null,
        }),
      ready: () => {
        const because = this.#bus && !this.#bus.status().connected ? ['broker'] : [];
        return { ready: because.length === 0, because };
      },
      metrics: () => this.metrics.registry.metrics(),
      journal: this.journal,
      ledger: this.ledger,
      points: new Set(this.plant.sensors.keys()),
      live: this.#live,
      judgements: this.#judgements,
      acts: this.#acts,
      lot: (lot: string) => this.lot(lot),
      trace: (load: string) => this.trace(load),
    };
  }
}

function promised(): { promise: Promise<void>; resolve: () => void } {
  let resolve = () => {};
  const promise = new Promise<void>((done) => (resolve = done));
  return { promise, resolve };
}

/** The document that an entry rests on and that the judge reads. */
function documentOf(entry: Entry): string | null {
  if (entry.kind === 'plant-revised') return (entry.body as PlantRevised).sha256;
  if (entry.kind === 'recipe-proposed') return (entry.body as RecipeProposed).recipe.sha256;
  return null;
}
