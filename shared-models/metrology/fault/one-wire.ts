import { bothOf } from './rule.ts';
import type {
  Ear,
  PlantRule,
  PlantRuleKind,
  Symptom,
  WatchedPoint,
  WatchedReading,
} from './rule.ts';

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

/** A mark that a point has made: whoever makes the same one at the same time has its wire. */
interface Mark {
  point: string;
  tMs: number;
  /** What came by, in its order, as one number. */
  mark: number;
  /** How many its point has made by then. */
  marks: number;
  /** How far from another's it may be [ms]. */
  apartMs: number;
}

/** The values of one point, in their order. */
class Trail implements Ear {
  readonly #point: string;
  readonly #apartMs: number;
  readonly #made: (mark: Mark) => void;
  #last = NaN;
  #isRising: boolean | null = null;
  #turns = 0;
  #changes = 0;
  #mark = 0;
  #marks = 0;
  /** Values passed through since the last mark, no more of them than are asked for. */
  readonly #values = new Set<number>();

  constructor({ id, everyMs }: WatchedPoint, made: (mark: Mark) => void) {
    this.#point = id;
    this.#apartMs = MOST_APART_INTERVALS * everyMs;
    this.#made = made;
  }

  take({ tMs, raw }: WatchedReading): void {
    if (raw === this.#last) return;
    const isRising = raw > this.#last;
    if (this.#isRising !== null && isRising !== this.#isRising) this.#turns += 1;
    this.#isRising = isRising;
    this.#last = raw;
    // A mark of the values themselves, in order: any mixing into 32 bits will do.
    this.#mark = (this.#mark * 31 + Math.floor(raw * 1000)) | 0;
    this.#changes += 1;
    if (this.#values.size < LEAST_VALUES) this.#values.add(raw);
    // Marks end where a value is reached that is a matter of the values alone, so that both end alike.
    if (this.#changes < CHANGES || Math.floor(raw * 10) % 7 !== 0) return;
    this.#marks += 1;
    if (this.#turns >= LEAST_TURNS && this.#values.size >= LEAST_VALUES) {
      const own = { point: this.#point, marks: this.#marks, apartMs: this.#apartMs };
      this.#made({ ...own, mark: this.#mark, tMs });
    }
    this.#mark = 0;
    this.#changes = 0;
    this.#turns = 0;
    this.#values.clear();
  }
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
    for (const point of points) {
      if (point.plausible === null) continue;
      this.#trails.set(point.id, new Trail(point, (mark) => this.#compare(mark)));
    }
  }

  ear(point: string): Ear | null {
    return this.#trails.get(point) ?? null;
  }

  #compare({ point, tMs, mark, marks, apartMs }: Mark): void {
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
      // Whose wire it is the values do not say.
      return bothOf(pair).map(([point, other]) => ({
        ...{ point, others: [other], fromMs },
        evidence: { other, marks: inARow },
      }));
    });
  }
}

export const oneWireRule: PlantRuleKind = {
  rule: 'one-wire',
  doubts: true,
  evidence: 'two points pass through the same values in the same order, three times 24 changes',
  falseAlarms: 'a second topic that is meant to repeat the first: name only one of them',
  needsMs: FORGOTTEN_MS,
  over: (points) => new OneWireRule(points),
};
