import type { Ear, PlantRule, PlantRuleKind, Symptom, WatchedPoint } from './rule.ts';

/** A median of fewer neighbours is one of them. */
const LEAST_POINTS = 3;

/** What was read longer ago than this is not held against what is read now [ms]. */
const FRESH_MS = 10 * 60_000;

/** What a point of a station read last; nothing yet: since ever. */
interface Last {
  point: string;
  c: number;
  tMs: number;
}

/** The points of each station that has enough of them. */
function groupsOf(points: readonly WatchedPoint[]): Last[][] {
  const byStation = new Map<string, Last[]>();
  for (const { id, station, plausible } of points) {
    if (station === null || plausible === null) continue;
    const group = byStation.get(station) ?? [];
    group.push({ point: id, c: NaN, tMs: -Infinity });
    byStation.set(station, group);
  }
  return [...byStation.values()].filter((group) => group.length >= LEAST_POINTS);
}

/** Looks of a group at fixed times, so that points with other intervals are compared like with like. */
abstract class NeighbourRule implements PlantRule {
  readonly #groups: Last[][];
  readonly #lastOf: ReadonlyMap<string, Last>;
  readonly #everyMs: number;
  #nextMs = 0;

  constructor(points: readonly WatchedPoint[], everyMs: number) {
    this.#everyMs = everyMs;
    this.#groups = groupsOf(points);
    this.#lastOf = new Map(this.#groups.flat().map((last) => [last.point, last]));
  }

  ear(point: string): Ear | null {
    const last = this.#lastOf.get(point);
    if (last === undefined) return null;
    return {
      take: ({ tMs, shownC }) => {
        if (shownC === null) return;
        last.c = shownC;
        last.tMs = tMs;
        if (tMs >= this.#nextMs) this.#compareAll(tMs);
      },
    };
  }

  #compareAll(tMs: number): void {
    this.#nextMs = tMs + this.#everyMs;
    for (const group of this.#groups) {
      if (group.some((last) => last.tMs === -Infinity)) continue;
      const fresh = group.filter((last) => tMs - last.tMs <= FRESH_MS);
      const lastC = new Map(fresh.map(({ point, c }): [string, number] => [point, c]));
      if (lastC.size >= LEAST_POINTS) this.compare(lastC, restOf(lastC), tMs);
    }
  }

  protected abstract compare(lastC: ReadonlyMap<string, number>, ofRestC: RestC, tMs: number): void;
  abstract look(nowMs: number): Symptom[];
}

/** Of one point, by its own value: the median of what all the others read [°C]. */
type RestC = (ownC: number) => number;

/** Sorted once for all points: a station of twenty asks twenty times a minute and rule. */
function restOf(lastC: ReadonlyMap<string, number>): RestC {
  const sorted = [...lastC.values()].sort((a, b) => a - b);
  const others = sorted.length - 1;
  const middle = Math.floor(others / 2);
  return (ownC) => {
    const own = sorted.indexOf(ownC);
    const at = (i: number): number => sorted[i < own ? i : i + 1]!;
    return others % 2 === 1 ? at(middle) : (at(middle - 1) + at(middle)) / 2;
  };
}

const REVERSED_WITHIN_MS = 15 * 60_000;
const OTHERS_ROSE_K = 10;
const OWN_FELL_K = 3;

class ReversedRule extends NeighbourRule {
  readonly #start = new Map<string, { tMs: number; ownC: number; othersC: number; of: number }>();
  readonly #found = new Map<string, { fromMs: number; fellK: number; roseK: number }>();

  constructor(points: readonly WatchedPoint[]) {
    super(points, 60_000);
  }

  protected compare(lastC: ReadonlyMap<string, number>, ofRestC: RestC, tMs: number): void {
    for (const [point, ownC] of lastC) {
      const restC = ofRestC(ownC);
      const start = this.#start.get(point);
      const of = lastC.size;
      // Beside other neighbours a median is another one.
      if (start?.of !== of || tMs - start.tMs > REVERSED_WITHIN_MS) {
        this.#start.set(point, { tMs, ownC, othersC: restC, of });
        continue;
      }
      const roseK = restC - start.othersC;
      if (Math.abs(roseK) < OTHERS_ROSE_K) continue;
      // With them up and it down, or the other way about.
      const againstK = roseK > 0 ? start.ownC - ownC : ownC - start.ownC;
      if (againstK < OWN_FELL_K) this.#found.delete(point);
      else {
        const fromMs = this.#found.get(point)?.fromMs ?? start.tMs;
        this.#found.set(point, { fromMs, fellK: againstK, roseK: Math.abs(roseK) });
      }
      this.#start.delete(point);
    }
  }

  look(): Symptom[] {
    return [...this.#found].map(([point, { fromMs, fellK, roseK }]) => ({
      point,
      others: [],
      fromMs,
      evidence: { fellK, roseK },
    }));
  }
}

/** Hours that tell what a point usually differs by, and hours that are held against it. */
const LEARN_HOURS = 72;
const ASKED_HOURS = 24;
const DRIFT_NEEDS_MS = (LEARN_HOURS + ASKED_HOURS) * 3_600_000;
const LEAST_DRIFT_K = 1.5;
const DRIFT_SIGMAS = 6;

/** Like is compared with like: only while the station is as hot as it gets, less so much [K]. */
const AS_HOT_K = 5;

/** The hottest is forgotten by so much a minute: a summer is not the measure of a winter [K]. */
const FORGOTTEN_K = 0.0005;

interface Difference {
  sumK: number;
  count: number;
  hourMs: number;
  hours: number;
  meanK: number;
  squaresK: number;
  /** Mean of the last day's hours, each counting a day. */
  lateK: number;
  fromMs: number | null;
}

class DriftRule extends NeighbourRule {
  readonly #differences = new Map<string, Difference>();
  readonly #isWatched: (point: string) => boolean;
  readonly #hottestC = new Map<string, number>();

  constructor(points: readonly WatchedPoint[], role: WatchedPoint['role']) {
    super(points, 60_000);
    const own = new Set(points.filter((point) => point.role === role).map(({ id }) => id));
    this.#isWatched = (point) => own.has(point);
  }

  protected compare(lastC: ReadonlyMap<string, number>, ofRestC: RestC, tMs: number): void {
    for (const [point, ownC] of lastC) {
      if (!this.#isWatched(point)) continue;
      const known = this.#differences.get(point) ?? {
        ...{ sumK: 0, count: 0, hourMs: tMs, hours: 0, meanK: 0, squaresK: 0, lateK: 0 },
        fromMs: null,
      };
      this.#differences.set(point, known);
      const restC = ofRestC(ownC);
      const hottestC = Math.max(restC, (this.#hottestC.get(point) ?? -Infinity) - FORGOTTEN_K);
      this.#hottestC.set(point, hottestC);
      if (restC < hottestC - AS_HOT_K) continue;
      known.sumK += ownC - restC;
      known.count += 1;
      if (tMs - known.hourMs >= 3_600_000) this.#closeHour(known, tMs);
    }
  }

  #closeHour(known: Difference, tMs: number): void {
    const hourK = known.sumK / known.count;
    Object.assign(known, { sumK: 0, count: 0, hourMs: tMs, hours: known.hours + 1 });
    if (known.hours <= LEARN_HOURS) {
      const fromMeanK = hourK - known.meanK;
      known.meanK += fromMeanK / known.hours;
      known.squaresK += fromMeanK * (hourK - known.meanK);
      known.lateK = known.meanK;
      return;
    }
    known.lateK += (hourK - known.lateK) / ASKED_HOURS;
    const isOff = Math.abs(known.lateK - known.meanK) > limitK(known);
    known.fromMs = isOff ? (known.fromMs ?? tMs - ASKED_HOURS * 3_600_000) : null;
  }

  look(): Symptom[] {
    return [...this.#differences].flatMap(([point, known]) => {
      if (known.fromMs === null) return [];
      const evidence = { driftK: known.lateK - known.meanK, usualK: known.meanK };
      return [{ point, others: [], fromMs: known.fromMs, evidence }];
    });
  }
}

/** An hour's mean scatters by what the station does in it; the mean of a day's by less. */
function limitK({ squaresK }: Difference): number {
  const hourSigmaK = Math.sqrt(squaresK / (LEARN_HOURS - 1));
  return Math.max(LEAST_DRIFT_K, (DRIFT_SIGMAS * hourSigmaK) / Math.sqrt(ASKED_HOURS / 2));
}

/** What only a point's neighbours can show: a pair of wires the wrong way round, and slow drift. */
export const neighbourRules: PlantRuleKind[] = [
  {
    rule: 'reversed',
    doubts: true,
    evidence: 'it falls by 3 K or more while the other points of its station rise by 10 K',
    falseAlarms: 'a zone that is cooled while the others heat up',
    needsMs: REVERSED_WITHIN_MS,
    over: (points) => new ReversedRule(points),
  },
  {
    rule: 'drift',
    doubts: false,
    evidence: 'a day’s mean difference to its neighbours has left that of its first three days',
    falseAlarms: 'a heater that weakens: it shows in the heat-up too, a drifting sensor does not',
    needsMs: DRIFT_NEEDS_MS,
    over: (points) => new DriftRule(points, 'watch'),
  },
  {
    rule: 'control-drift',
    doubts: false,
    evidence:
      'control holds its own point still, so that all its neighbours leave their usual difference',
    falseAlarms: 'a set point moved in one zone alone',
    needsMs: DRIFT_NEEDS_MS,
    over: (points) => new DriftRule(points, 'control'),
  },
];
