import type { PlantRule, PlantRuleKind, Symptom, WatchedPoint, WatchedReading } from './rule.ts';

/** So many changes of value are one mark; two points with the same marks have one wire. */
const CHANGES = 24;

/** A steady rise in whole steps looks alike everywhere, and so does a last digit that comes and goes. */
const LEAST_TURNS = 6;
const LEAST_VALUES = 8;

/** One wire says it to both at one time, give or take their own intervals: later it is chance. */
const MOST_APART_INTERVALS = 2;

/** Equal marks with more others between them are chance. */
const MOST_BETWEEN = 2;

/** The wire has been put right when no mark is alike for so long [ms]. */
const FORGOTTEN_MS = 2 * 3_600_000;

/** So many equal marks, one after the other. */
const IN_A_ROW = 3;

interface Trail {
  last: number;
  rising: boolean | null;
  turns: number;
  changes: number;
  mark: number;
  /** Values passed through since the last mark. */
  values: Set<number>;
  /** Marks made so far. */
  marks: number;
  /** How far from another's its mark may be [ms]. */
  apartMs: number;
}

interface Pair {
  inARow: number;
  fromMs: number;
  lastMs: number;
  /** How many marks its second point had made by then. */
  marks: number;
}

class OneWireRule implements PlantRule {
  readonly #trails = new Map<string, Trail>();
  /** Pairs with equal marks: how many in a row, since when. */
  readonly #alike = new Map<string, Pair>();
  /** Who made a mark last. */
  readonly #byMark = new Map<number, { point: string; tMs: number }>();

  constructor(points: readonly WatchedPoint[]) {
    for (const { id, plausible, everyMs } of points) {
      if (plausible === null) continue;
      const start = { last: NaN, rising: null, turns: 0, changes: 0, mark: 0, marks: 0 };
      const apartMs = MOST_APART_INTERVALS * everyMs;
      this.#trails.set(id, { ...start, apartMs, values: new Set() });
    }
  }

  take(point: string, { tMs, raw }: WatchedReading): void {
    const trail = this.#trails.get(point);
    if (trail === undefined || raw === trail.last) return;
    const rising = raw > trail.last;
    if (trail.rising !== null && rising !== trail.rising) trail.turns += 1;
    trail.rising = rising;
    trail.last = raw;
    // A mark of the values themselves, in order: any mixing that keeps it a safe integer will do.
    trail.mark = (trail.mark * 31 + Math.floor(raw * 1000)) % 9_007_199_254_099;
    trail.changes += 1;
    trail.values.add(raw);
    // Marks end where a value is reached that is a matter of the values alone, so that both end alike.
    if (trail.changes < CHANGES || Math.floor(raw * 10) % 7 !== 0) return;
    trail.marks += 1;
    if (trail.turns >= LEAST_TURNS && trail.values.size >= LEAST_VALUES) {
      this.#close(point, trail, tMs);
    }
    Object.assign(trail, { mark: 0, changes: 0, turns: 0 });
    trail.values.clear();
  }

  #close(point: string, { mark, marks, apartMs }: Trail, tMs: number): void {
    const other = this.#byMark.get(mark);
    this.#byMark.set(mark, { point, tMs });
    if (this.#byMark.size > 4 * this.#trails.size) {
      const [oldest] = this.#byMark.keys();
      if (oldest !== undefined) this.#byMark.delete(oldest);
    }
    if (other === undefined || other.point === point) return;
    if (Math.abs(tMs - other.tMs) > apartMs) return;
    const pair = [other.point, point].sort().join(' ');
    const known = this.#alike.get(pair);
    // Either of the two may be the second to close: a few marks' slack covers that.
    const goesOn = known !== undefined && Math.abs(marks - known.marks) <= 2 * MOST_BETWEEN;
    this.#alike.set(pair, {
      inARow: goesOn ? known.inARow + 1 : 1,
      fromMs: goesOn ? known.fromMs : Math.min(tMs, other.tMs),
      lastMs: tMs,
      marks,
    });
  }

  look(nowMs: number): Symptom[] {
    return [...this.#alike].flatMap(([pair, { inARow, fromMs, lastMs }]) => {
      if (nowMs - lastMs > FORGOTTEN_MS) this.#alike.delete(pair);
      if (inARow < IN_A_ROW || nowMs - lastMs > FORGOTTEN_MS) return [];
      const [point = '', other = ''] = pair.split(' ');
      return [{ point, others: [other], fromMs, evidence: { other, marks: inARow } }];
    });
  }
}

export const oneWireRule: PlantRuleKind = {
  rule: 'one-wire',
  doubts: true,
  evidence: 'two points pass through the same values in the same order, three times 24 changes',
  falseAlarms: 'a second topic that is meant to repeat the first: name only one of them',
  over: (points) => new OneWireRule(points),
};
