import { linearRegression } from 'simple-statistics';
import type { Between, Dip } from './closing.ts';
import { followedMin, recoveredK } from './closing.ts';

/**
 * A fall that is a cold charge: so deep within so short a time. A hot plate left to itself loses about
 * 1 K a minute, a controller swings by tenths. Common practice, no source.
 */
export const dipK = 2.5;
const dipWithinMs = 90_000;
/** A logger that reads once a minute shows a fall over two of its readings. */
const dipWithinReadings = 2.5;
/** Whatever a logger missed for longer fell unseen, and nobody knows how fast [ms]. */
const dipMostMs = 5 * 60_000;

/** The level before a fall is a line through so much of it [ms], or through so many readings. */
const levelMs = 90_000;
const levelReadings = 6;
/** Readings kept: enough for level and fall, at one a second and at one in five minutes. */
const keptMs = 300_000;
const keptReadings = 16;

/** Below the level by so many standard deviations of its readings, and never by less [K], is fallen. */
const fallenSigmas = 4;
const fallenK = 0.15;

/** An element in a drilled hole follows the metal after so long [ms]. Common practice, no source. */
const elementLagMs = 20_000;
/** Thermal diffusivity of carbon steel, 1.2e-5 m²/s: from memory, of tables for 20 to 150 °C. */
const steelM2PerS = 1.2e-5;

/** A dip that has not turned after so long is no charge any more, and the next one may come [ms]. */
const turnsWithinMs = 15 * 60_000;
/** So long a face may take to come back before nobody waits for it [ms]. */
const recoversWithinMs = 60 * 60_000;

/** Rates are taken over so long at the least and at the most [ms]: shorter, and resolution is all they tell. */
const rateOverMs = { least: 15_000, most: 60_000 };
const halfMinuteMs = 30_000;

interface Sample {
  tMs: number;
  c: number;
}

/** Readings by time, in two columns: a plant of thousands of faces keeps them, and objects take five times the room. */
class Samples {
  readonly #tMs: number[] = [];
  readonly #c: number[] = [];

  get length(): number {
    return this.#tMs.length;
  }

  at(i: number): Sample | undefined {
    const tMs = this.#tMs.at(i);
    const c = this.#c.at(i);
    return tMs === undefined || c === undefined ? undefined : { tMs, c };
  }

  /** NaN where there is none. */
  tMsAt(i: number): number {
    return this.#tMs[i] ?? NaN;
  }

  cAt(i: number): number {
    return this.#c[i] ?? NaN;
  }

  push({ tMs, c }: Sample): void {
    this.#tMs.push(tMs);
    this.#c.push(c);
  }

  forgetFirst(count: number): void {
    this.#tMs.splice(0, count);
    this.#c.splice(0, count);
  }

  between(from: number, to: number): Sample[] {
    const c = this.#c.slice(from, to);
    return this.#tMs.slice(from, to).map((tMs, i) => ({ tMs, c: c[i] ?? NaN }));
  }
}

/**
 * How long the metal over an element hides a charge [ms]: a change at the face reaches depth d after
 * about d²/(2α).
 *
 * @param depthMm of the element under the face, ≥ 0
 * @source penetration time of a half-space, order of magnitude: H. S. Carslaw, J. C. Jaeger, Conduction
 *   of Heat in Solids, 2nd ed., 2.5 (from memory)
 */
export function hiddenMs(depthMm: number): number {
  const m = depthMm / 1000;
  return elementLagMs + (1000 * (m * m)) / (2 * steelM2PerS);
}

/** Finds the dips of one face, and follows each until it has come back. */
export class DipWatch {
  readonly #point: string;
  readonly #hiddenMs: number;
  readonly #recent = new Samples();
  #dip: Dip | null = null;
  #armed = true;
  /** Before it everything belongs to the dip before [ms]. */
  #sinceMs = -Infinity;

  constructor(point: string, depthMm: number) {
    this.#point = point;
    this.#hiddenMs = hiddenMs(depthMm);
  }

  get last(): Sample | null {
    return this.#recent.at(-1) ?? null;
  }

  /** The dip it follows; it changes while the face falls and comes back. */
  get dip(): Dip | null {
    return this.#dip;
  }

  /** A reading; one that is older than the newest is left out. @returns a dip that begins with it, once */
  take(tMs: number, c: number): Dip | null {
    const last = this.last;
    if (last !== null && tMs <= last.tMs) return null;
    this.#recent.push({ tMs, c });
    this.#forget(tMs);
    this.#follow(tMs, c);
    if (!this.#armed) return null;
    const fallen = this.#fallenFrom(tMs, c);
    if (fallen === null) return null;
    const begun = this.#begun(fallen);
    if (begun === null) return null;
    this.#armed = false;
    this.#dip = { point: this.#point, ...begun, bottomC: c, bottomMs: tMs, ...stillFalling() };
    this.#dip.fallKPerMin = Math.max(0, -this.#rate());
    for (const sample of this.#recent.between(0, this.#recent.length)) draw(this.#dip, sample);
    return this.#dip;
  }

  #forget(tMs: number): void {
    const surplus = this.#recent.length - keptReadings;
    let old = 0;
    while (old < surplus && tMs - this.#recent.tMsAt(old) > keptMs) old++;
    if (old > 0) this.#recent.forgetFirst(old);
  }

  #follow(tMs: number, c: number): void {
    const dip = this.#dip;
    if (dip === null) return;
    const kPerMin = this.#rate();
    dip.fallKPerMin = Math.max(dip.fallKPerMin, -kPerMin);
    dip.riseKPerMin = Math.max(dip.riseKPerMin, kPerMin);
    draw(dip, { tMs, c });
    if (!dip.turned) {
      if (c < dip.bottomC) {
        dip.bottomC = c;
        dip.bottomMs = tMs;
      }
      const rise = c - dip.bottomC;
      dip.turned = rise >= Math.max(fallenK * 4, (dip.levelC - dip.bottomC) / 4);
      if (dip.turned || tMs - dip.start.bestMs > turnsWithinMs) {
        this.#armed = true;
        this.#sinceMs = dip.bottomMs;
      }
    }
    if (dip.turned && dip.recoveredMs === null && c >= dip.levelC - recoveredK) {
      const late = tMs - dip.start.bestMs > recoversWithinMs;
      if (!late) dip.recoveredMs = this.#crossed(dip.levelC - recoveredK);
      this.#dip = null;
    }
  }

  /** How steep it is now, over a quarter of a minute or the readings' own spacing [K/min]. */
  #rate(): number {
    const last = this.#recent.at(-1);
    if (last === undefined) return 0;
    let i = this.#recent.length - 1;
    while (i >= 0 && last.tMs - this.#recent.tMsAt(i) < rateOverMs.least) i--;
    const before = i < 0 ? undefined : this.#recent.at(i);
    if (before === undefined || last.tMs - before.tMs > rateOverMs.most) return 0;
    return ((last.c - before.c) * 60_000) / (last.tMs - before.tMs);
  }

  /** When the last two readings crossed a level upwards [ms]. */
  #crossed(c: number): number {
    const [a, b] = [this.#recent.at(-2), this.#recent.at(-1)];
    if (a === undefined || b === undefined || a.c >= c) return this.last?.tMs ?? 0;
    return a.tMs + ((c - a.c) / (b.c - a.c)) * (b.tMs - a.tMs);
  }

  /** Index of the highest reading that the newest has fallen from far enough, soon enough. */
  #fallenFrom(tMs: number, c: number): number | null {
    const recent = this.#recent;
    const before = recent.at(-2);
    if (before === undefined) return null;
    const seldomMs = Math.min(dipMostMs, dipWithinReadings * (tMs - before.tMs));
    const withinMs = Math.max(dipWithinMs, seldomMs);
    let highest: number | null = null;
    for (let i = recent.length - 2; i >= 0; i--) {
      const atMs = recent.tMsAt(i);
      if (tMs - atMs > withinMs || atMs <= this.#sinceMs) break;
      if (recent.cAt(i) - c < dipK) continue;
      if (highest === null || recent.cAt(i) > recent.cAt(highest)) highest = i;
    }
    return highest;
  }

  /**
   * Where the fall began: a line through what came before it, and the last reading that still lies on
   * it. Each turn takes readings of the fall out of the line, until it stands.
   */
  #begun(highest: number): Pick<Dip, 'start' | 'levelC'> | null {
    const recent = this.#recent;
    let onLevel = highest;
    let level = levelOf(recent, onLevel);
    for (let turn = 0; turn < 4; turn++) {
      level = levelOf(recent, onLevel);
      const next = lastOn(recent, level, recent.length - 1);
      if (next === null || next === onLevel) break;
      onLevel = next;
    }
    const last = recent.at(onLevel);
    const first = recent.at(onLevel + 1);
    if (last === undefined || first === undefined) return null;
    const earliestMs = last.tMs - this.#hiddenMs;
    const start: Between = {
      earliestMs,
      latestMs: first.tMs,
      bestMs: last.tMs - this.#hiddenMs / 4,
    };
    return { start, levelC: level.at(last.tMs) };
  }
}

function stillFalling() {
  const belowK: (number | null)[] = [];
  return { turned: false, recoveredMs: null, fallKPerMin: 0, riseKPerMin: 0, belowK };
}

/** Puts a reading into its half minute of the way back. */
function draw(dip: Dip, { tMs, c }: Sample): void {
  const half = Math.round((tMs - dip.start.bestMs) / halfMinuteMs);
  if (half < 0 || half > 2 * followedMin) return;
  while (dip.belowK.length < half) dip.belowK.push(null);
  dip.belowK[half] = dip.levelC - c;
}

interface Level {
  at(tMs: number): number;
  bandK: number;
}

/** The line through the readings up to an index, and how far they lie from it. */
function levelOf(recent: Samples, upTo: number): Level {
  const untilMs = recent.tMsAt(upTo);
  let from = upTo;
  while (from > 0 && (upTo - from < levelReadings || untilMs - recent.tMsAt(from) < levelMs))
    from--;
  const taken = recent.between(from, upTo + 1);
  if (taken.length < 3) {
    const c = recent.cAt(upTo);
    return { at: () => c, bandK: fallenK };
  }
  const { m, b } = linearRegression(taken.map(({ tMs, c }) => [(tMs - untilMs) / 1000, c]));
  // Drawn on upwards, the line would take a plate that has arrived for one that has begun to fall.
  const slope = Math.min(0, m);
  const at = (tMs: number) => b + (slope * (tMs - untilMs)) / 1000;
  const squares = taken.reduce(
    (sum, { tMs, c }) => sum + (c - b - (m * (tMs - untilMs)) / 1000) ** 2,
    0,
  );
  const sigma = Math.sqrt(squares / Math.max(1, taken.length - 2));
  return { at, bandK: Math.max(fallenK, fallenSigmas * sigma) };
}

/** Index of the last reading that is not below the level; null where all are. */
function lastOn(recent: Samples, level: Level, from: number): number | null {
  for (let i = from; i >= 0; i--) {
    if (recent.cAt(i) >= level.at(recent.tMsAt(i)) - level.bandK) return i;
  }
  return null;
}
