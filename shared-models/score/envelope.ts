import { widestOf } from './fitted-span.ts';
import { heartbeatInTimeMs, type PointHistory } from './point-history.ts';
import type { OnChange, ScoreInput, ScoredSensor } from './shape.ts';

/** After loading the fall has its own rate for so long, unless the recipe states its recovery [min]. */
const RECOVERY_MIN = 10;

/** Bounds of change of a station, and of temperature itself. */
export interface Rates {
  heatingKPerS: number;
  coolingKPerS: number;
  loadingKPerS: number;
  loadedMs: number;
  recoveredMs: number;
  leastC: number;
  mostC: number;
  /** What one reading may be off for resolution and noise [K]. */
  noiseK: number;
  /** Absent: it reports on its own clock. */
  onChange?: OnChange;
}

/** @param sensor whose plausible range clips what may have been */
export function ratesOf(input: ScoreInput, sensor: ScoredSensor): Rates {
  const { station, recipe } = input;
  const { plausible, resolutionK, noiseK = 0 } = widestOf(sensor);
  const recovery = (recipe.limits ?? []).find((limit) => limit.phase === 'recovery');
  const recoveryMin = recovery?.phase === 'recovery' ? recovery.withinMin : RECOVERY_MIN;
  const loadedMs = input.marks.contact?.earliestMs ?? input.startMs;
  return {
    heatingKPerS: station.maxHeatingKPerMin / 60,
    coolingKPerS: station.maxCoolingKPerMin / 60,
    loadingKPerS: Math.max(station.loadingDropKPerMin ?? 0, station.maxCoolingKPerMin) / 60,
    loadedMs,
    recoveredMs: loadedMs + recoveryMin * 60_000,
    leastC: Math.max(plausible.minC, station.surroundingsMinC),
    mostC: Math.min(plausible.maxC, station.supplyMaxC),
    noiseK: 2 * resolutionK + 3 * noiseK,
    ...(sensor.onChange === undefined ? {} : { onChange: sensor.onChange }),
  };
}

/** A face's temperature [°C] at the time last asked for. */
export interface FaceCourse {
  readonly low: number;
  readonly nominal: number;
  readonly high: number;
  readonly neverRead: boolean;
  /** How far low and high stand from it on average while it goes on reading as it did [K]. */
  readonly apartK: number;
  /** What it touches goes on to elsewhere: its last value says nothing of the next. */
  readonly moves?: boolean;
  at(tMs: number): void;
}

/**
 * A face's temperature at any time [°C]: what it may least, most likely and at most have been.
 *
 * Every good reading, give or take its noise, bounds the temperature before and after it by the
 * greatest heating and cooling; where all of them agree is what may have been. After the last (before
 * the first) only one of the two bounds it. Because all readings count, not only the nearest, one
 * fewer can only widen it. Nominal is linear between readings, inside the bounds, and holds the last
 * value. A reading that contradicts those before it begins anew: the pair is bounded by its two
 * readings. Between two reports of a point that speaks on change it has moved by less than that, as long
 * as none of its reports is missing and its heartbeat lives. A point never read may have been anything its station can be.
 */
export class Envelope implements FaceCourse {
  low = 0;
  nominal = 0;
  high = 0;
  private readonly history: PointHistory;
  private readonly rates: Rates;
  private next = 0;
  /** Bounds at each reading from it and those before it [°C]. */
  private readonly pastLowC: number[] = [];
  private readonly pastHighC: number[] = [];
  /** Bounds at each reading from it and those after it [°C]. */
  private readonly futureLowC: number[] = [];
  private readonly futureHighC: number[] = [];
  private movedMs = Infinity;

  constructor(history: PointHistory, rates: Rates) {
    this.history = history;
    this.rates = rates;
  }

  get neverRead(): boolean {
    return this.history.timesMs.length === 0;
  }

  /** Between two equal readings the ends part up to where the greatest fall and rise meet; half of it on average. */
  get apartK(): number {
    const { heatingKPerS, coolingKPerS, noiseK, onChange } = this.rates;
    const meetingKPerS = (heatingKPerS * coolingKPerS) / (heatingKPerS + coolingKPerS);
    const partedK = (0.5 * meetingKPerS * (this.history.spacingMs ?? 0)) / 1000;
    return noiseK + Math.min(partedK, numberedWithinK(onChange));
  }

  /** How far back a reading usually narrows what those before it allow [ms]. */
  get reachMs(): number {
    const { heatingKPerS, coolingKPerS, noiseK } = this.rates;
    return (3000 * noiseK) / Math.min(heatingKPerS, coolingKPerS);
  }

  /**
   * Takes in the readings that came since. Times after this have other bounds than before [ms];
   * `Infinity`: none.
   */
  movedSince(): number {
    this.follow();
    const { movedMs } = this;
    this.movedMs = Infinity;
    return movedMs;
  }

  /** Sets low, nominal and high for a time; nearly always one later than before. */
  at(tMs: number): void {
    this.follow();
    const { timesMs, valuesC } = this.history;
    while (this.next < timesMs.length && timesMs[this.next] <= tMs) this.next += 1;
    while (this.next > 0 && timesMs[this.next - 1] > tMs) this.next -= 1;
    const { leastC, mostC } = this.rates;
    const before = this.next - 1;
    // A reading's own time is bounded by what came after it as well as by what came before.
    const after = before >= 0 && timesMs[before] === tMs ? before : this.next;
    const readBefore = before >= 0;
    const readAfter = after < timesMs.length;
    if (!readBefore && !readAfter) {
      this.low = leastC;
      this.high = mostC;
      this.nominal = 0.5 * (leastC + mostC);
      return;
    }
    let low = -Infinity;
    let high = Infinity;
    let nominal = readBefore ? valuesC[before] : valuesC[after];
    if (readBefore) {
      low = this.pastLowC[before] - this.fallK(timesMs[before], tMs);
      high = this.pastHighC[before] + this.riseK(timesMs[before], tMs);
    }
    if (readAfter) {
      low = Math.max(low, this.futureLowC[after] - this.riseK(tMs, timesMs[after]));
      high = Math.min(high, this.futureHighC[after] + this.fallK(tMs, timesMs[after]));
    }
    if (readBefore && readAfter) {
      if (after > before) {
        const share = (tMs - timesMs[before]) / (timesMs[after] - timesMs[before]);
        nominal += share * (valuesC[after] - nominal);
        const stillK = this.stillWithinK(before);
        const stillLow = Math.max(low, valuesC[before] - stillK);
        const stillHigh = Math.min(high, valuesC[before] + stillK);
        // Where rates contradict it, it claims nothing.
        if (stillLow <= stillHigh) [low, high] = [stillLow, stillHigh];
      }
      if (low > high) {
        const { noiseK } = this.rates;
        low = Math.min(valuesC[before], valuesC[after]) - noiseK;
        high = Math.max(valuesC[before], valuesC[after]) + noiseK;
      }
    }
    this.nominal = Math.max(low, Math.min(high, nominal));
    this.low = Math.min(this.nominal, Math.max(low, leastC));
    this.high = Math.max(this.nominal, Math.min(high, mostC));
  }

  /** By how much it may have moved from a report before the next one came [K]; `Infinity`: nobody can tell. */
  private stillWithinK(before: number): number {
    const { onChange, noiseK } = this.rates;
    if (onChange === undefined || !this.history.isNext[before + 1]) return Infinity;
    const { timesMs } = this.history;
    const [fromMs, toMs] = [timesMs[before], timesMs[before + 1]];
    const { holes } = onChange;
    if (holes === null || toMs - fromMs > heartbeatInTimeMs(onChange)) return Infinity;
    const isWhole = !holes.some(([afterMs, beforeMs]) => afterMs < toMs && beforeMs > fromMs);
    return isWhole ? numberedWithinK(onChange) + noiseK : Infinity;
  }

  /** Bounds of the readings that came since, and what they say of those before them. */
  private follow(): void {
    const { timesMs } = this.history;
    const known = this.pastLowC.length;
    if (known === timesMs.length) return;
    for (let i = known; i < timesMs.length; i += 1) this.followForward(i);
    this.movedMs = Math.min(this.movedMs, known > 0 ? timesMs[known - 1] : -Infinity);
    for (let i = timesMs.length - 1; i >= 0; i -= 1) {
      const moved = this.followBack(i);
      if (i >= known) continue;
      if (!moved) break;
      this.movedMs = Math.min(this.movedMs, i > 0 ? timesMs[i - 1] : -Infinity);
    }
  }

  private followForward(i: number): void {
    const { timesMs, valuesC } = this.history;
    const { noiseK } = this.rates;
    let low = valuesC[i] - noiseK;
    let high = valuesC[i] + noiseK;
    if (i > 0) {
      const fromLow = this.pastLowC[i - 1] - this.fallK(timesMs[i - 1], timesMs[i]);
      const fromHigh = this.pastHighC[i - 1] + this.riseK(timesMs[i - 1], timesMs[i]);
      if (fromLow <= high && fromHigh >= low) {
        low = Math.max(low, fromLow);
        high = Math.min(high, fromHigh);
      }
    }
    this.pastLowC.push(low);
    this.pastHighC.push(high);
  }

  /** Answers whether a reading's bounds from those after it have moved. */
  private followBack(i: number): boolean {
    const { timesMs, valuesC } = this.history;
    const { noiseK } = this.rates;
    let low = valuesC[i] - noiseK;
    let high = valuesC[i] + noiseK;
    if (i + 1 < timesMs.length) {
      const toLow = this.futureLowC[i + 1] - this.riseK(timesMs[i], timesMs[i + 1]);
      const toHigh = this.futureHighC[i + 1] + this.fallK(timesMs[i], timesMs[i + 1]);
      if (toLow <= high && toHigh >= low) {
        low = Math.max(low, toLow);
        high = Math.min(high, toHigh);
      }
    }
    const moved = low !== this.futureLowC[i] || high !== this.futureHighC[i];
    this.futureLowC[i] = low;
    this.futureHighC[i] = high;
    return moved;
  }

  /** Greatest rise between two times [K]. */
  private riseK(fromMs: number, toMs: number): number {
    return (this.rates.heatingKPerS * (toMs - fromMs)) / 1000;
  }

  /** Greatest fall between two times [K]: faster while the cold charge draws heat. */
  private fallK(fromMs: number, toMs: number): number {
    const { loadingKPerS, coolingKPerS, loadedMs, recoveredMs } = this.rates;
    const loadingMs = Math.max(0, Math.min(toMs, recoveredMs) - Math.max(fromMs, loadedMs));
    return (loadingKPerS * loadingMs + coolingKPerS * (toMs - fromMs - loadingMs)) / 1000;
  }
}

/** What moves a numbered point to report [K]; `Infinity`: it does not, or it numbers nothing. */
function numberedWithinK(onChange: OnChange | undefined): number {
  return onChange === undefined || onChange.holes === null ? Infinity : onChange.withinK;
}
