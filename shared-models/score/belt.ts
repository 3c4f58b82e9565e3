import { Envelope, type FaceCourse } from './envelope.ts';
import type { PointHistory } from './point-history.ts';
import type { ScoredBelt, ScoredSignal } from './shape.ts';

/** Readings of the speed further apart than this many of their spacings leave the belt all it can do. */
const KNOWN_SPACINGS = 1.5;

/** How far the belt has gone: at least, most likely and at most [m]. */
interface Way {
  low: number;
  nominal: number;
  high: number;
}

/**
 * How far a belt has gone since a part came on it, from the readings of its speed.
 *
 * Between two readings in time the speed lies between them; where one is missing it may be anything the
 * signal can be. Sums run from reading to reading in a fixed order, so that any split gives the whole.
 */
export class BeltWay {
  private readonly history: PointHistory;
  private readonly signal: ScoredSignal;
  private readonly startMs: number;
  private readonly knownMs: number;
  /** Way at each reading after the start, from the first of them on. */
  private readonly atReading: Way[] = [];
  private first = -1;

  /** @param everyS how often the speed is read [s] */
  constructor(history: PointHistory, signal: ScoredSignal, everyS: number, startMs: number) {
    this.history = history;
    this.signal = signal;
    this.startMs = startMs;
    this.knownMs = KNOWN_SPACINGS * everyS * 1000;
  }

  get neverRead(): boolean {
    return this.history.timesMs.length === 0;
  }

  /** Way at a time not before the start. */
  at(tMs: number): Way {
    const { timesMs } = this.history;
    const before = countUpTo(timesMs, tMs) - 1;
    if (before < 0 || timesMs[before] <= this.startMs) {
      return this.between(before, this.startMs, Math.max(tMs, this.startMs));
    }
    return sum(this.upTo(before), this.between(before, timesMs[before], tMs));
  }

  /** Way at a reading after the start. */
  private upTo(reading: number): Way {
    const { timesMs } = this.history;
    if (this.first < 0) this.first = countUpTo(timesMs, this.startMs);
    for (let j = this.first + this.atReading.length; j <= reading; j += 1) {
      const onward = this.between(
        j - 1,
        Math.max(this.startMs, timesMs[j - 1] ?? -Infinity),
        timesMs[j],
      );
      const before = this.atReading[j - this.first - 1];
      this.atReading.push(before === undefined ? onward : sum(before, onward));
    }
    return this.atReading[reading - this.first];
  }

  /** Way from one time to another within the interval after a reading; −1: before all of them. */
  private between(reading: number, fromMs: number, toMs: number): Way {
    const { timesMs, valuesC: speeds } = this.history;
    const { min, max } = this.signal.plausible;
    const [atMs, nextMs] = [timesMs[reading] ?? NaN, timesMs[reading + 1] ?? NaN];
    const [here, next] = [speeds[reading] ?? NaN, speeds[reading + 1] ?? NaN];
    if (Number.isNaN(here)) {
      const likely = Number.isNaN(next) ? 0.5 * (min + max) : next;
      return way(min, likely, max, toMs - fromMs);
    }
    if (Number.isNaN(next)) {
      const heldMs = Math.max(0, Math.min(toMs, atMs + this.knownMs) - fromMs);
      const held = this.told(here, here, here, heldMs);
      return sum(held, way(min, here, max, toMs - fromMs - heldMs));
    }
    const middleMs = 0.5 * (fromMs + toMs);
    const likely = here + ((next - here) * (middleMs - atMs)) / (nextMs - atMs);
    const lasts = toMs - fromMs;
    if (nextMs - atMs > this.knownMs) return way(min, likely, max, lasts);
    return this.told(Math.min(here, next), likely, Math.max(here, next), lasts);
  }

  /** A way by speeds that were read, each as uncertain as its instrument. */
  private told(low: number, nominal: number, high: number, lastsMs: number): Way {
    const { plausible, expanded } = this.signal;
    const least = Math.max(plausible.min, low - expanded);
    return way(least, nominal, Math.min(plausible.max, high + expanded), lastsMs);
  }
}

/** @param low, nominal, high [m/min] */
function way(low: number, nominal: number, high: number, lastsMs: number): Way {
  const minutes = lastsMs / 60_000;
  return { low: low * minutes, nominal: nominal * minutes, high: high * minutes };
}

function sum(a: Way, b: Way): Way {
  return { low: a.low + b.low, nominal: a.nominal + b.nominal, high: a.high + b.high };
}

/** How many of the ascending times are not after a time. */
function countUpTo(timesMs: readonly number[], tMs: number): number {
  let low = 0;
  let high = timesMs.length;
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (timesMs[middle] <= tMs) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * The air that a part on a belt meets: that of the zone it is in, of any zone it may be in at the ends.
 * A belt that stops leaves it where it is.
 */
export class BeltCourse implements FaceCourse {
  low = 0;
  nominal = 0;
  high = 0;
  /** What comes is not what is: the part goes on. */
  readonly moves = true;
  private readonly zones: ScoredBelt['zones'];
  private readonly airs: readonly FaceCourse[];
  private readonly way: BeltWay;

  /** @param airs of the belt's zones, in their order */
  constructor({ zones }: ScoredBelt, airs: readonly FaceCourse[], way: BeltWay) {
    this.zones = zones;
    this.airs = airs;
    this.way = way;
  }

  get neverRead(): boolean {
    return this.way.neverRead || this.airs.some((air) => air.neverRead);
  }

  get apartK(): number {
    return this.airs.reduce((most, air) => Math.max(most, air.apartK), 0);
  }

  get envelopes(): Envelope[] {
    return this.airs.filter((air) => air instanceof Envelope);
  }

  at(tMs: number): void {
    const { low, nominal, high } = this.way.at(tMs);
    this.low = Infinity;
    this.high = -Infinity;
    for (let i = 0; i < this.zones.length; i += 1) {
      if (high < this.reachesFromM(i) || low > this.reachesToM(i)) continue;
      const air = this.airs[i];
      air.at(tMs);
      this.low = Math.min(this.low, air.low);
      this.high = Math.max(this.high, air.high);
    }
    const likely = this.airs[this.zoneAt(nominal)];
    likely.at(tMs);
    this.nominal = likely.nominal;
  }

  /** Between two zones the air may be either's; before the first and behind the last it is theirs. */
  private reachesFromM(i: number): number {
    return i === 0 ? -Infinity : this.zones[i - 1].toM;
  }

  private reachesToM(i: number): number {
    return i === this.zones.length - 1 ? Infinity : this.zones[i + 1].fromM;
  }

  /** The zone nearest to a place. */
  private zoneAt(m: number): number {
    let nearest = 0;
    let leastM = Infinity;
    this.zones.forEach(({ fromM, toM }, i) => {
      const awayM = Math.max(fromM - m, m - toM, 0);
      if (awayM > leastM || (awayM === leastM && m < fromM)) return;
      nearest = i;
      leastM = awayM;
    });
    return nearest;
  }
}
