import { fitCurve } from '../cure/fit/curve.ts';
import type { FeatureRow } from './feature.ts';

/** One heating up of one face, from cold to where it holds. */
export interface HeatUp {
  point: string;
  startMs: number;
  /** Coldest before it rose [°C]. */
  startC: number;
  /** When it was ready [ms]; null while it is not, and where it was interrupted. */
  readyMs: number | null;
  /** Why it counts for nothing; null where it does. */
  interrupted: 'cooled' | 'silent' | 'loaded' | null;
  /** One value a minute from the start [°C], as read nearest to it; null where nothing was. */
  curveC: (number | null)[];
  /** Whether it is over: settled, or interrupted. */
  done: boolean;
}

export interface HeatUpSetting {
  point: string;
  /** Where the station counts as ready [°C]. */
  readyC: number;
}

/** A face that is so far below ready is cold [K]. */
const coldK = 30;
/** It heats up when it has risen by so much [K] within so long [ms]; rooms are slower, heaters faster. */
const risenK = 5;
const risenWithinMs = 20 * 60_000;
/** It began at the last reading that was so near its coldest [K]. */
const coldestK = 0.5;
/** Readings kept: one in so long [ms]. What is passed between two is taken from the readings themselves. */
const keptEveryMs = 5000;
/** A fall of so much on the way is an interruption [K]. */
const fallenK = 5;
/** No reading for so long and nobody knows how it rose [ms]; a deadband's heartbeat is shorter. */
const silentMs = 12 * 60_000;
/** What comes in so long after ready tells how it settles [ms]. */
const settlesMs = 40 * 60_000;
const minuteMs = 60_000;
/** Four hours: nothing that heats a plate takes longer. */
const mostMinutes = 240;
/** Half the span over which a rate is taken [K]. */
const rateHalfK = 5;
const settledK = 1;
const holdMs = 10 * minuteMs;

interface Sample {
  tMs: number;
  c: number;
}

/**
 * Follows one face through its heat-ups.
 *
 *   cold ──rises──▶ heating ──ready──▶ settling ──40 min, or a charge──▶ hot ──cools──▶ cold
 *                      └──falls, is silent, is loaded──▶ interrupted
 */
export class HeatUpWatch {
  readonly #setting: HeatUpSetting;
  #state: 'cold' | 'heating' | 'settling' | 'hot' = 'hot';
  #samples: Sample[] = [];
  #now: HeatUp | null = null;
  #highestC = -Infinity;
  /** How far the newest value of the curve was read from its minute [ms]. */
  #besideMs = 0;
  #last: Sample = { tMs: -Infinity, c: NaN };

  constructor(setting: HeatUpSetting) {
    this.#setting = setting;
  }

  /** The heat-up under way, or the last one. */
  get heatUp(): HeatUp | null {
    return this.#now;
  }

  /** A reading; one that is older than the newest is left out. @returns the heat-up that is over with it */
  take(tMs: number, c: number): HeatUp | null {
    const before = this.#last;
    if (tMs <= before.tMs) return null;
    this.#last = { tMs, c };
    const silent = tMs - before.tMs > silentMs;
    if (this.#state === 'hot' && c < this.#setting.readyC - coldK) {
      this.#state = 'cold';
      this.#samples = [];
    }
    switch (this.#state) {
      case 'cold':
        this.#takeCold({ tMs, c }, silent);
        return null;
      case 'heating':
        return this.#takeHeating({ tMs, c }, before, silent);
      case 'settling':
        return this.#takeSettling({ tMs, c }, silent);
      case 'hot':
        return null;
    }
  }

  /** A cold charge lies on it from now on. @returns the heat-up that is over with it */
  loaded(atMs: number): HeatUp | null {
    if (this.#state === 'settling') {
      this.#samples = this.#samples.filter(({ tMs }) => tMs < atMs);
      return this.#end(null);
    }
    return this.#state === 'heating' ? this.#end('loaded') : null;
  }

  #takeCold(sample: Sample, silent: boolean): void {
    if (silent) this.#samples = [];
    const window = this.#samples;
    this.#keep(sample);
    const old = window.findIndex(({ tMs }) => tMs > sample.tMs - risenWithinMs);
    // The newest that has left the window stays: it is what a seldom read face was until then.
    if (old > 1) window.splice(0, old - 1);
    const coldestC = window.reduce((least, { c }) => Math.min(least, c), Infinity);
    if (sample.c < coldestC + risenK) return;
    const from = window.map(({ c }) => c <= coldestC + coldestK).lastIndexOf(true);
    this.#samples = window.slice(from);
    this.#keep(sample);
    this.#state = 'heating';
    this.#highestC = sample.c;
    this.#now = {
      point: this.#setting.point,
      startMs: window[from]?.tMs ?? sample.tMs,
      startC: coldestC,
      readyMs: null,
      interrupted: null,
      curveC: [],
      done: false,
    };
    for (const each of this.#samples) this.#draw(each);
  }

  #takeHeating(sample: Sample, before: Sample, silent: boolean): HeatUp | null {
    if (silent) return this.#end('silent');
    this.#keep(sample);
    this.#draw(sample);
    const { tMs, c } = sample;
    this.#highestC = Math.max(this.#highestC, c);
    if (c < this.#highestC - fallenK) return this.#end('cooled');
    const { readyC } = this.#setting;
    if (this.#now === null || c < readyC) return null;
    const share = c > before.c ? (readyC - before.c) / (c - before.c) : 1;
    this.#now.readyMs = before.tMs + Math.min(1, Math.max(0, share)) * (tMs - before.tMs);
    this.#state = 'settling';
    return null;
  }

  #takeSettling(sample: Sample, silent: boolean): HeatUp | null {
    const { tMs, c } = sample;
    const readyMs = this.#now?.readyMs ?? tMs;
    if (silent || tMs - readyMs > settlesMs || c < this.#setting.readyC - coldK) {
      return this.#end(null);
    }
    this.#keep(sample);
    this.#draw(sample);
    return null;
  }

  #keep(sample: Sample): void {
    const last = this.#samples.at(-1);
    if (last === undefined || sample.tMs - last.tMs >= keptEveryMs) this.#samples.push(sample);
  }

  #draw({ tMs, c }: Sample): void {
    const { startMs = tMs, curveC = [] } = this.#now ?? {};
    const minute = Math.round((tMs - startMs) / minuteMs);
    if (minute > mostMinutes) return;
    const besideMs = Math.abs(tMs - startMs - minute * minuteMs);
    if (minute < curveC.length && besideMs > this.#besideMs) return;
    this.#besideMs = besideMs;
    while (curveC.length < minute) curveC.push(null);
    curveC[minute] = c;
  }

  #end(interrupted: HeatUp['interrupted']): HeatUp | null {
    const ended = this.#now;
    this.#state = 'hot';
    if (ended === null) return null;
    ended.interrupted = interrupted;
    ended.done = true;
    return ended;
  }

  /** What the heat-up that has just ended tells, one value a feature. */
  features(): FeatureRow[] {
    const heatUp = this.#now;
    const samples = this.#samples;
    this.#samples = [];
    if (heatUp === null || heatUp.readyMs === null || heatUp.interrupted !== null) return [];
    const { point, startMs, startC, readyMs } = heatUp;
    const row = (feature: FeatureRow['feature'], value: number | null): FeatureRow[] =>
      value === null || !Number.isFinite(value)
        ? []
        : [{ feature, point, atMs: startMs, value, startC }];
    const rising = samples.filter(({ tMs }) => tMs <= readyMs);
    const after = samples.filter(({ tMs }) => tMs > readyMs);
    return [
      ...row('minutes-to-ready', (readyMs - startMs) / minuteMs),
      ...row('rate-at-60', rateAt(rising, 60)),
      ...row('rate-at-100', rateAt(rising, 100)),
      ...row('time-constant', timeConstantMin(rising, startMs, startC)),
      ...settled(after, readyMs, row),
    ];
  }
}

type Row = (feature: FeatureRow['feature'], value: number | null) => FeatureRow[];

/** How it came to rest, where it had ten minutes to. */
function settled(after: readonly Sample[], readyMs: number, row: Row): FeatureRow[] {
  const last = after.at(-1);
  if (last === undefined || last.tMs - readyMs < 2 * holdMs) return [];
  const hold = after.filter(({ tMs }) => tMs > last.tMs - holdMs);
  if (hold.length < 3) return [];
  const levelC = hold.reduce((sum, { c }) => sum + c, 0) / hold.length;
  const highC = Math.max(...after.map(({ c }) => c));
  const outside = after.filter(({ c }) => Math.abs(c - levelC) > settledK).at(-1);
  const holdHighC = Math.max(...hold.map(({ c }) => c));
  const holdLowC = Math.min(...hold.map(({ c }) => c));
  return [
    ...row('overshoot', highC - levelC),
    ...row('settling', ((outside?.tMs ?? readyMs) - readyMs) / minuteMs),
    ...row('ripple', (holdHighC - holdLowC) / 2),
  ];
}

/** Rate when it passes a temperature [K/min], over 10 K around it; null where it never did. */
function rateAt(rising: readonly Sample[], c: number): number | null {
  const fromMs = passedMs(rising, c - rateHalfK);
  const toMs = passedMs(rising, c + rateHalfK);
  return fromMs === null || toMs === null || toMs <= fromMs
    ? null
    : (2 * rateHalfK * minuteMs) / (toMs - fromMs);
}

/** When it first passed a temperature upwards, between the readings beside it [ms]. */
function passedMs(rising: readonly Sample[], c: number): number | null {
  for (let i = 1; i < rising.length; i++) {
    const a = rising[i - 1];
    const b = rising[i];
    if (a === undefined || b === undefined || a.c >= c || b.c < c) continue;
    return a.tMs + ((c - a.c) / (b.c - a.c)) * (b.tMs - a.tMs);
  }
  return null;
}

/** Readings of a heat-up that a fit needs at most: more change no digit of it, and take their time. */
const mostFitted = 60;

/**
 * Time constant of the rise [min]: T − T₀ = b₁(1 − e^(−t/τ)). A heater at its stop gives a straight line,
 * of which none can be told: null.
 *
 * @source form and gate of the fit: NIST StRD Misra1a
 */
function timeConstantMin(
  rising: readonly Sample[],
  startMs: number,
  startC: number,
): number | null {
  if (rising.length < 8 || isStraight(rising)) return null;
  const step = Math.max(1, Math.floor(rising.length / mostFitted));
  const taken = rising.filter((_, i) => i % step === 0);
  const x = taken.map(({ tMs }) => (tMs - startMs) / minuteMs);
  const y = taken.map(({ c }) => c - startC);
  const lastX = x.at(-1) ?? 0;
  const lastY = y.at(-1) ?? 0;
  if (lastX <= 0) return null;
  const fit = fitCurve('first-order', x, y, [1.5 * lastY, 1.1 / lastX]);
  const rate = fit.converged ? fit.parameters[1] : undefined;
  if (rate === undefined || rate <= 0) return null;
  return 1 / rate;
}

/** A rise whose last third is nearly as fast as its second has no time constant to tell. */
const straightShare = 0.85;

function isStraight(rising: readonly Sample[]): boolean {
  const third = Math.floor(rising.length / 3);
  const [a, b, c] = [third, 2 * third, rising.length - 1].map((i) => rising[i]);
  if (a === undefined || b === undefined || c === undefined) return true;
  const second = (b.c - a.c) / (b.tMs - a.tMs);
  return (c.c - b.c) / (c.tMs - b.tMs) > straightShare * second;
}
