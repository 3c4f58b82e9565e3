import { join } from 'node:path';
import { Counter } from 'prom-client';
import type { Judgement } from '@setwell/shared-models/api/collector';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { LotFile } from '@setwell/shared-models/record/lot-file';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import type { TraceView } from '@setwell/shared-models/score/trace';
import { impactHere, impactInThread } from './export/impact-thread.ts';
import { recordedLot } from './export/recorded-lot.ts';
import type { Bus, BusStatus } from './intake/bus.ts';
import { Importer } from './intake/importer.ts';
import { Intake, type Arrival, type Outcome } from './intake/intake.ts';
import { FreeSpace, spaceLimits } from './journal/free-space.ts';
import { openJournal, openJournalReader, openWriter, type Journal } from './journal/journal.ts';
import type { JournalReader } from './journal/shape.ts';
import { Documents, type ReadPlant } from './judge/documents.ts';
import { documentsOf, readHistory } from './judge/history.ts';
import { Judge, type JudgeStep } from './judge/judge.ts';
import { InlineJudging, WorkerJudging, type Judging, type Told } from './judge/judging.ts';
import { Pictures } from './judge/pictures.ts';
import { bakedMs } from './judge/coat-bakes.ts';
import { LedgerFold } from './judge/ledger-fold.ts';
import { keptMs } from './judge/load-accounts.ts';
import { olderLoads } from './judge/older-loads.ts';
import { parsers } from './judge/parsers.ts';
import { scoreModel } from './judge/score-model.ts';
import { KeyFolder, keyFolderBeside } from './ledger/key-folder.ts';
import { openLedger } from './ledger/ledger.ts';
import { openLedgerIndex, type LedgerIndex } from './ledger/ledger-index.ts';
import type { Ledger, Proposal } from './ledger/shape.ts';
import { FolderLock } from './lock.ts';
import { Metrics } from './metrics.ts';
import { newFiles, readPlantFile } from './plant-files.ts';
import { promised } from './promised.ts';
import { firstOf, type Collected, type Part } from './part.ts';
import { partsOf } from './parts.ts';
import type { CollectorSetting } from './setting.ts';
import { Acts } from './serve/acts/acts.ts';
import { helloOf, startable } from './serve/hello.ts';
import { Judgements } from './serve/judgements.ts';
import { LiveReadings } from './serve/live-readings.ts';
import { routesOf } from './serve/routes.ts';
import { tokenIn } from './serve/token.ts';
import { historyOf, startUplink, type Uplink } from './uplink/uplink.ts';
import { isSynchronised } from './serve/health/time-source.ts';
import { InterfaceServer } from './serve/server.ts';

const collectorName = 'c1';

/** A start hears all of so long: as a sealed load is kept in mind, and a day for clocks that differ [ms]. */
const recentMs = keptMs + 86_400_000;

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
  readonly #pictures = new Pictures((wanted, told) => this.#judging.trace(wanted, told));
  readonly #fold: LedgerFold;
  readonly #documents: Documents;
  readonly #lots: LedgerIndex;
  readonly #judging: Judging;
  readonly #judgements = new Judgements((station) =>
    firstOf(this.#parts.map((part) => part.expectedReadyMs?.(station))),
  );
  readonly #live: LiveReadings;
  readonly #acts: Acts;
  readonly #parts: Part[];
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
    const present = readPlantFile(plantFile);
    this.plant = present.plant;
    this.#documents = new Documents(parsers, present);
    this.#lock = new FolderLock(dataDir);
    const journalFile = join(dataDir, 'journal.db');
    const space = new FreeSpace(journalFile, setting.usedShare);
    this.#writer =
      setting.judge === 'worker'
        ? openWriter(journalFile, space, (line) => setting.log?.(line))
        : openJournal(journalFile, space);
    this.journal = openJournalReader(journalFile);
    const log = `${this.plant.site.id}/${collectorName}/1`;
    const keys = new KeyFolder(setting.keyDir ?? keyFolderBeside(dataDir));
    this.ledger = openLedger(join(dataDir, 'ledger.db'), log, clock, keys);
    this.#lots = openLedgerIndex(this.#indexFile(), this.ledger);
    this.#fold = new LedgerFold(olderLoads(this.ledger, this.#lots));
    this.#reachedMs = clock.monotonicMs();
    this.#refused = new Counter({
      name: 'setwell_events_refused_total',
      help: 'Station events that were not believed, by reason',
      labelNames: ['code'],
      registers: [this.metrics.registry],
    });
    const { metrics, plant } = this;
    const newestMs = (point: string) => this.journal.lastReading(point)?.t ?? null;
    this.#intake = new Intake({ plant, journal: this.#writer, newestMs, clock, metrics });
    this.#live = new LiveReadings(plant, this.journal);
    this.#intake.onCommit((batch) => this.#live.take(batch));
    this.#judging = this.#createJudging(journalFile, present);
    this.#acts = new Acts({
      plant,
      ledger: this.ledger,
      journal: this.journal,
      clock,
      accept: (arrivals) => this.accept(arrivals),
      append: (proposals) => this.append(proposals),
      step: () => this.step(),
      fold: this.#fold,
      lots: this.#lots,
      recipe: (sha256) => this.#documents.recipe(sha256),
      evidenceOf: (...job) => firstOf(this.#parts.map((part) => part.evidenceOf?.(...job))),
      stationOf: (id) => this.plant.stations.find((station) => station.id === id) ?? null,
      isReleased: (load) => this.#judgements.of(load)?.released ?? false,
    });
    this.#parts = [this.#fold, this.#lots, this.#judgements, ...partsOf(this.#collected())];
    this.#hearHistory();
    const files = newFiles(plantFile, present, this.#fold, (line) => setting.log?.(line));
    if (files.length > 0) this.append(files);
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
        for (const part of this.#parts) part.connected?.();
        this.#connected.resolve();
      });
      if (this.#bus.status().connected) this.#connected.resolve();
    }
    for (const part of this.#parts) part.start?.();
    this.#uplink = startUplink({ ...this.#setting, collected: this, random: Math.random });
    this.#stepOn();
    if (!serve) return { url: null, tokenFile: null };
    const tokenFile = join(this.#setting.dataDir, 'token');
    this.#server = new InterfaceServer(this.#routes(), tokenIn(tokenFile), (error) =>
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
    await Promise.all(this.#parts.map((part) => part.stop?.()));
    await Promise.all([this.#bus?.close(), this.#uplink?.stop()]);
    await this.#server?.close();
    await this.#judging.stop();
    this.journal.close();
    await this.#writer.stop();
    this.#lots.close();
    this.ledger.close();
    this.#lock.release();
  }

  /** What has arrived, as from a bus; on the disk when it returns. */
  accept(arrivals: Arrival[], by?: string): Outcome[] {
    return this.#intake.accept(arrivals, by);
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

  trace(load: string, view: TraceView = {}, told?: Told): Promise<LoadTrace | null> {
    const sealed = this.#fold.accounts.finished(load)?.sealed;
    const nowMs = this.#setting.clock.nowMs();
    if (!sealed) return this.#pictures.of(load, { load, nowMs, view }, told);
    const input = this.ledger.blob(sealed.input.sha256)?.toString('utf8');
    const readingsCsv = this.ledger.blob(sealed.readings.sha256)?.toString('utf8');
    if (!input || !readingsCsv || sealed.worst === null) return Promise.resolve(null);
    return this.#pictures.of(sealed.input.sha256, { input, readingsCsv, view }, told);
  }

  #createJudging(journalFile: string, plant: ReadPlant): Judging {
    const { judge, clockSetting, onFatal } = this.#setting;
    const judgeEveryMs = this.#setting.judgeEveryMs ?? 1000 * clockSetting.rate;
    const every = { judgeEveryMs, forecastEveryMs: Math.max(5000, judgeEveryMs) };
    const onStep = (step: JudgeStep) => this.#take(step);
    if (judge === 'worker') {
      const onFault = (error: Error) => onFatal?.(error);
      const ledgerFile = join(this.#setting.dataDir, 'ledger.db');
      const files = { journalFile, ledgerFile, indexFile: this.#indexFile() };
      return new WorkerJudging({ ...files, plant, ...every }, onStep, onFault);
    }
    const documents = new Documents(parsers, plant);
    const { journal, ledger } = this;
    const record = (sha256: string) => ledger.blob(sha256);
    const older = olderLoads(ledger, this.#lots);
    const inline = new Judge({ journal, documents, model: scoreModel, record, older, ...every });
    return new InlineJudging(inline, documents, ledger, onStep);
  }

  #indexFile(): string {
    return join(this.#setting.dataDir, 'ledger-index.db');
  }

  /** The judge reads it by itself: handed over, it would wait in memory. */
  #hearHistory(): void {
    const bakesNone = this.plant.stations.filter(({ kind }) => kind !== 'oven');
    const asked = { recentMs, bakedMs, bakesNone: bakesNone.map(({ id }) => id) };
    const history = { ...this.#lots.history(asked), untilN: this.ledger.size() - 1 };
    this.#judging.hearHistory(history);
    this.#fold.begin(history.answered);
    readHistory(this.ledger, history, (entries, documents) => this.#tellParts(entries, documents));
  }

  #hear(entries: Entry[]): void {
    const documents = documentsOf(entries, this.ledger);
    this.#tellParts(entries, documents);
    this.#judging.hear(entries, documents);
  }

  #tellParts(entries: Entry[], documents: Buffer[]): void {
    for (const bytes of documents) this.#documents.add(bytes);
    for (const part of this.#parts) part.hear?.(entries);
  }

  /** What a look of the judge has found: appended first, then told. */
  #take(step: JudgeStep): Entry[] {
    if (this.#stopped) return [];
    try {
      const entries = step.proposals.length > 0 ? this.ledger.append(step.proposals) : [];
      for (const part of this.#parts) part.hear?.(entries);
      if (step.reachedHead) {
        this.#reachedMs = this.#setting.clock.monotonicMs();
        this.#firstJudged.resolve();
      }
      for (const { refusal } of step.refusals) this.#refused.inc({ code: refusal.code });
      this.#acts.settle(entries, step);
      for (const part of this.#parts) part.look?.(step, entries);
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

  /** What the parts may use. */
  #collected(): Collected {
    const { dataDir, plantFile, clock, clockSetting, judge, log, version } = this.#setting;
    const { plant, journal, ledger, metrics } = this;
    return {
      ...{ name: collectorName, version, dataDir, plantFile, plant },
      ...{ clock, clockSetting, journal, ledger, metrics },
      commit: this.#setting.commit ?? null,
      pagesCertificate: this.#setting.pagesCertificate ?? null,
      impact: judge === 'worker' ? impactInThread(join(dataDir, 'ledger.db')) : impactHere(ledger),
      fold: this.#fold,
      documents: this.#documents,
      traffic: this.#intake.traffic,
      store: this.#writer,
      lots: this.#lots,
      append: (proposals) => this.append(proposals),
      publish: (topic, payload) => this.#bus?.publish(topic, payload, { retain: true, qos: 0 }),
      bus: () => this.bus(),
      uplink: () => this.#uplink?.state() ?? null,
      behindMs: () => clock.monotonicMs() - this.#reachedMs,
      isSynchronised: this.#setting.isSynchronised ?? isSynchronised,
      log: (line) => log?.(line),
      pointsNow: () => this.#live.points(clock.nowMs()),
      silentSinceMs: (point) => this.#live.silentSinceMs(point, clock.nowMs()),
    };
  }

  #routes() {
    return [...routesOf(this.#served()), ...this.#parts.flatMap((part) => part.routes?.() ?? [])];
  }

  #served() {
    const { clock, clockSetting, plantFile, version } = this.#setting;
    return {
      nowMs: () => clock.nowMs(),
      hello: () =>
        helloOf({
          version,
          collector: collectorName,
          log: this.ledger.log,
          entries: this.ledger.size(),
          plant: this.plant,
          clock: clockSetting,
          nowMs: clock.nowMs(),
          recipes: startable(this.#fold, this.#documents),
          bus: this.#bus?.status() ?? null,
          lastPerson: this.#fold.lastPerson,
          judgeBehindMs: clock.monotonicMs() - this.#reachedMs,
        }),
      ready: () => {
        const because = this.#bus && !this.#bus.status().connected ? ['broker'] : [];
        if (this.#writer.used() >= spaceLimits.refuse) because.push('disk-full');
        return { ready: because.length === 0, because };
      },
      metrics: () => this.metrics.registry.metrics(),
      journal: this.journal,
      keptFromMs: (point: string) => this.#writer.keptFromMs(point),
      history: historyOf(this.plant, plantFile),
      ledger: this.ledger,
      points: new Set(this.plant.sensors.keys()),
      live: this.#live,
      judgements: this.#judgements,
      acts: this.#acts,
      importer: new Importer(this.#intake, {
        ...{ plant: this.plant, journal: this.#writer, reader: this.journal, clock },
      }),
      lot: (lot: string) => this.lot(lot),
      trace: (load: string, view: TraceView, told?: Told) => this.trace(load, view, told),
    };
  }
}
