import { join } from 'node:path';
import type { HeatingFacts } from '@setwell/shared-models/call/ready-call';
import type {
  FaceHistory,
  HeatUpReport,
  ProposedLimit,
  StationHeat,
} from '@setwell/shared-models/api/heat-up';
import { usualRecovery } from '@setwell/shared-models/condition/charge';
import { faceLayout } from '@setwell/shared-models/condition/face-layout';
import { featureNames, type FeatureName } from '@setwell/shared-models/condition/feature';
import { likeStart } from '@setwell/shared-models/condition/like-start';
import { isRate, type LimitKey, type Proposal } from '@setwell/shared-models/condition/proposal';
import { runsOf } from '@setwell/shared-models/condition/run';
import type { HeatUp } from '@setwell/shared-models/condition/heat-up';
import { readyForecast, type FaceHeating } from '@setwell/shared-models/condition/ready-forecast';
import {
  restartsOf,
  stationReport,
  summaryOf,
  usualMinutes,
  workItem,
  type StationSummary,
  type WorkEvidence,
} from '@setwell/shared-models/condition/station-report';
import { usualCurve } from '@setwell/shared-models/condition/usual-curve';
import { featureCondition, leastJudgedRows } from '@setwell/shared-models/condition/zone-condition';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { Station } from '@setwell/shared-models/plant/plant';
import type { Entry } from '@setwell/shared-models/record/entry';
import { sha256Hex } from '../ledger/sha256.ts';
import type { JudgeStep } from '../judge/judge.ts';
import type { Collected, Part } from '../part.ts';
import { unknown } from '../serve/refused.ts';
import type { Route } from '../serve/route.ts';
import { json } from '../serve/server.ts';
import { ConditionFold } from './condition-fold.ts';
import { ConditionStore } from './condition-store.ts';
import { ReadyCalls } from './ready-calls.ts';
import { Surveys } from './surveys.ts';
import { ProvingLimits } from './proving-limit.ts';
import { WorkList } from './work-list.ts';

/** Batches read at a stretch, in some 20 ms, before intake has its turn. */
const batchesAtOnce = 40;
/** And so long at most in one look of the judge [ms of wall time]. */
const mostAtOnceMs = 40;
/** What a look back goes back to: heat-ups of more than a year, charges of a quarter [ms]. */
const heatUpsBackMs = 400 * 86_400_000;
const closingsListed = 40;
/** Some days of charges: enough for a usual way back [charges]. */
const chargesLooked = 61;
/** A certificate that ends within so long is named [ms]. */
const dueMs = 45 * 86_400_000;

/**
 * The condition of the plant's stations: follows the journal beside the judge, keeps what cycles tell in
 * a file that may be deleted, and answers the Heat-up screen.
 */
export class Condition implements Part {
  readonly #collected: Collected;
  readonly #store: ConditionStore;
  readonly #fold: ConditionFold;
  readonly #limits: ProvingLimits;
  readonly #work = new WorkList();
  readonly #surveys: Surveys;
  readonly #readyCalls: ReadyCalls;
  readonly #summaries = new Map<string, { of: string; summary: StationSummary }>();
  readonly #past = new Map<string, { of: number; heatUps: HeatUp[] }>();
  #jobsHeard = 0;

  constructor(collected: Collected) {
    this.#collected = collected;
    const { plant, journal, dataDir, fold, documents } = collected;
    this.#store = new ConditionStore(join(dataDir, 'condition.db'), digestOf(collected));
    this.#fold = new ConditionFold(plant, journal, this.#store);
    this.#limits = new ProvingLimits(plant, fold, documents);
    this.#surveys = new Surveys(collected, (station) => this.#limits.recipesOf(station));
    this.#readyCalls = new ReadyCalls(collected, (station) => this.#heatUpOf(station));
  }

  hear(entries: Entry[]): void {
    this.#jobsHeard += entries.filter(({ kind }) => kind.startsWith('work-')).length;
    for (const entry of entries) {
      this.#work.take(entry);
      this.#surveys.take(entry);
    }
  }

  look({ stations }: JudgeStep): void {
    const { clock, clockSetting } = this.#collected;
    const untilMs = clock.monotonicMs() + mostAtOnceMs * clockSetting.rate;
    let more = this.#fold.readOn(batchesAtOnce);
    while (more && clock.monotonicMs() < untilMs) more = this.#fold.readOn(batchesAtOnce);
    if (more) return;
    this.#limits.work(clock.nowMs());
    this.#readyCalls.look(stations);
  }

  /** A clock that is stepped stands still meanwhile: what is left is read to its end. */
  stop(): void {
    for (let n = 0; n < mostAtEnd && this.#fold.readOn(batchesAtOnce); n++);
    this.#store.close();
  }

  routes(): Route[] {
    return [
      { method: 'GET', path: '/heat-ups', answer: () => json(this.#lines()) },
      {
        method: 'GET',
        path: '/heat-ups/{station}',
        answer: (asked) => json(this.#report(this.#station(asked.name('station')))),
      },
      {
        method: 'GET',
        path: '/heat-ups/{station}/{point}',
        answer: (asked) => {
          const station = this.#station(asked.name('station'));
          const point = asked.name('point');
          const feature = asked.oneOf<FeatureName>('feature', featureNames, 'minutes-to-ready');
          return json(this.#history(station, point, feature));
        },
      },
      ...this.#surveys.routes(),
    ];
  }

  evidenceOf(at: string, work: string): WorkEvidence | null {
    const job = this.#work.get(work);
    const station = this.#collected.plant.stations.find(({ id }) => id === at);
    if (job?.station !== at || station === undefined) return null;
    const { series } = this.#summary(station, this.#controlled(station));
    const faces = new Set(faceLayout(station).map(({ point }) => point));
    return workItem(job, series, faces, this.#surveys.of(station.id));
  }

  expectedReadyMs(station: string): number | null {
    return readyForecast(this.#unready(station));
  }

  /** Its faces that are on their way. */
  #unready(station: string): FaceHeating[] {
    const heatingUp = this.#fold.cyclesOf(station)?.heatingUp() ?? [];
    return heatingUp.flatMap((now) => {
      const newest = this.#fold.newestC(now.point);
      if (now.readyMs !== null || newest === null) return [];
      // Work done on it makes it another face.
      const sinceMs = Math.max(-Infinity, ...restartsOf(now.point, this.#work.ofStation(station)));
      const past = this.#pastHeatUps(station).filter(
        ({ point, startMs }) => point === now.point && startMs >= sinceMs,
      );
      return [{ now, newest, past }];
    });
  }

  #heatUpOf(id: string): HeatingFacts['heatUp'] {
    const station = this.#station(id);
    const heatingUp = this.#fold.cyclesOf(id)?.heatingUp() ?? [];
    const faces = this.#unready(id);
    const [coldest] = [...faces].sort((a, b) => a.newest.c - b.newest.c);
    if (coldest === undefined) return null;
    const startMs = Math.min(...heatingUp.map((each) => each.startMs));
    const startC = Math.min(...heatingUp.map((each) => each.startC));
    const { series } = this.#summary(station, this.#controlled(station));
    const of = { layout: faceLayout(station), work: this.#work.ofStation(id) };
    const usualMin = usualMinutes(of, series, startC);
    return {
      startMs,
      lastPoint: coldest.now.point,
      expectedReadyMs: readyForecast(faces),
      usuallyReadyMs: usualMin === null ? null : startMs + usualMin * 60_000,
    };
  }

  /** Those that are over; read anew with a cycle, for a station that heats up is looked at each second. */
  #pastHeatUps(station: string): HeatUp[] {
    const of = this.#store.changesOf(station);
    const known = this.#past.get(station);
    if (known?.of === of) return known.heatUps;
    const sinceMs = this.#collected.clock.nowMs() - heatUpsBackMs;
    const heatUps = this.#store.heatUps(station, sinceMs);
    this.#past.set(station, { of, heatUps });
    return heatUps;
  }

  #station(id: string): Station {
    const station = this.#collected.plant.stations.find((each) => each.id === id);
    if (!station) throw unknown('station', id, 'a station of the plant');
    return station;
  }

  #lines(): StationHeat[] {
    return this.#collected.plant.stations.map((station) => {
      const { title, kind, readyC, newest, faces } = this.#report(station);
      const order = ['weakens', 'silent', 'changed', 'better', 'as-it-was', 'too-few'] as const;
      const worst = order.find((state) => faces.some((face) => face.state === state)) ?? null;
      return { station: station.id, title, kind, readyC, heating: newest, worst };
    });
  }

  #report(station: Station): HeatUpReport {
    const { plant, clock } = this.#collected;
    const nowMs = clock.nowMs();
    const layout = faceLayout(station);
    const nowC = new Map<string, number>();
    const silentSinceMs = new Map<string, number>();
    const controlled = this.#controlled(station);
    const due: HeatUpReport['due'] = [];
    for (const { point } of layout) {
      const sensor = plant.sensors.get(point);
      const newest = this.#fold.newestC(point);
      if (newest !== null) nowC.set(point, newest.c);
      // By what has come in, not by how far the past has been read.
      const silent = this.#collected.silentSinceMs(point);
      if (silent !== null) silentSinceMs.set(point, silent);
      const { certificate, due: ends } = sensor?.calibration ?? {};
      if (certificate !== undefined && ends !== undefined && Date.parse(ends) < nowMs + dueMs) {
        due.push({ point, certificate, due: ends });
      }
    }
    const sinceMs = nowMs - heatUpsBackMs;
    return stationReport({
      station: station.id,
      title: station.title,
      kind: station.kind,
      nowMs,
      readyC: station.readyC,
      layout,
      controlled,
      summary: this.#summary(station, controlled),
      expectedReadyMs: this.expectedReadyMs(station.id),
      heatUps: this.#heatUps(station, sinceMs),
      closings: this.#store.closings(station.id, closingsListed),
      work: this.#work.ofStation(station.id),
      surveys: this.#surveys.of(station.id),
      nowC,
      silentSinceMs,
      due,
      readUpTo: this.#fold.readUpTo,
      limitOf: (key) => this.#limitOf(station, key),
      costOf: (point) => this.#limits.limitOf(station, point),
    });
  }

  #controlled(station: Station): Set<string> {
    const { sensors } = this.#collected.plant;
    const points = faceLayout(station).map(({ point }) => point);
    return new Set(points.filter((point) => sensors.get(point)?.role === 'control'));
  }

  /** Made anew with a cycle or a job: a year of them is read in a second, and asked for every few. */
  #summary(station: Station, controlled: ReadonlySet<string>): StationSummary {
    const of = `${String(this.#store.changesOf(station.id))} ${String(this.#jobsHeard)}`;
    const known = this.#summaries.get(station.id);
    if (known?.of === of) return known.summary;
    const sinceMs = this.#collected.clock.nowMs() - heatUpsBackMs;
    const rows = this.#store.features(station.id, sinceMs);
    const summary = summaryOf(rows, controlled, this.#work.ofStation(station.id));
    this.#summaries.set(station.id, { of, summary });
    return summary;
  }

  #limitOf(station: Station, key: LimitKey): Omit<ProposedLimit, keyof Proposal> {
    const limit = this.#collected.fold.limits.newest(station.id, key);
    const approved = limit === null ? null : { by: limit.by, atMs: limit.atMs };
    const recipes = this.#limits.recipesOf(station).flatMap(({ title, limits = [] }) => {
      const value = phaseLimit(limits, key);
      return isRate(key) || value === limit?.value ? [] : [{ title, value }];
    });
    return { inForce: limit?.value ?? (isRate(key) ? station[key] : null), approved, recipes };
  }

  /** Those that are over, then those under way. */
  #heatUps(station: Station, sinceMs: number) {
    const over = this.#pastHeatUps(station.id).filter(({ startMs }) => startMs >= sinceMs);
    const now = this.#fold.cyclesOf(station.id)?.heatingUp() ?? [];
    return [...over, ...now].sort((a, b) => a.startMs - b.startMs);
  }

  #history(station: Station, point: string, feature: FeatureName): FaceHistory {
    const sinceMs = this.#collected.clock.nowMs() - heatUpsBackMs;
    const rows = this.#store
      .features(station.id, sinceMs)
      .filter((row) => row.point === point && row.feature === feature);
    const heatUps = this.#heatUps(station, sinceMs).filter((each) => each.point === point);
    const newest = heatUps.at(-1);
    const work = this.#work.ofStation(station.id);
    const restarts = restartsOf(point, work);
    const restartMs = restarts.reduce((latest, ms) => Math.max(latest, ms), -Infinity);
    const past = heatUps.slice(0, -1).filter(({ startMs }) => startMs >= restartMs);
    const runs = runsOf(rows);
    const { values } = likeStart(runs, leastJudgedRows);
    return {
      station: station.id,
      point,
      readyC: station.readyC,
      newest: newest ?? null,
      usual:
        newest === undefined
          ? null
          : (usualCurve(past, newest.startC) ?? usualCurve(heatUps.slice(0, -1), newest.startC)),
      recovery: this.#recovery(station, point),
      feature,
      condition: featureCondition(rows, restarts),
      dots: runs.map(({ atMs }, i) => ({ atMs, value: values[i] ?? NaN })),
      marks: work.flatMap(({ done, doneBy }) =>
        done !== null && (done.points.length === 0 || done.points.includes(point))
          ? [{ atMs: done.doneMs, what: done.what, note: done.note, by: doneBy ?? '' }]
          : [],
      ),
    };
  }

  #recovery(station: Station, point: string): FaceHistory['recovery'] {
    const charges = this.#store.charges(station.id, point, chargesLooked);
    const newest = charges.pop();
    return newest === undefined ? null : { newest, usual: usualRecovery(charges) };
  }
}

/** What a recipe's phases say of a limit; null where they say nothing. */
function phaseLimit(limits: NonNullable<Recipe['limits']>, key: LimitKey): number | null {
  for (const limit of limits) {
    if (key === 'recovery.withinMin' && limit.phase === 'recovery') return limit.withinMin;
    if (limit.phase !== 'before-load') continue;
    if (key === 'before-load.minC') return limit.minC;
    if (key === 'before-load.maxC') return limit.maxC;
  }
  return null;
}

/** Three million readings: a history that is made in one go; a plant's backlog is read on next time. */
const mostAtEnd = 20_000;

/** What the fold depends on: with another gauge or another ready temperature the past reads differently. */
function digestOf({ plant }: Collected): string {
  const text = JSON.stringify([
    plant.stations.map(({ id, zones, readyC, closedBy }) => [id, zones, readyC, closedBy]),
    [...plant.sensors.values()].map(({ id, signal, plausible, depthMm, element }) => [
      id,
      signal,
      plausible,
      depthMm,
      element,
    ]),
  ]);
  return sha256Hex(text);
}
