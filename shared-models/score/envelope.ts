import type { PointHistory } from './point-history.ts';
import type { ScoreInput, ScoredSensor } from './shape.ts';

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
}

/** @param sensor whose plausible range clips what may have been */
export function ratesOf(input: ScoreInput, sensor: ScoredSensor): Rates {
  const { station, recipe } = input;
  const recovery = (recipe.limits ?? []).find((limit) => limit.phase === 'recovery');
  const recoveryMin = recovery?.phase === 'recovery' ? recovery.withinMin : RECOVERY_MIN;
  const loadedMs = input.marks.contact?.earliestMs ?? input.startMs;
  return {
    heatingKPerS: station.maxHeatingKPerMin / 60,
    coolingKPerS: station.maxCoolingKPerMin / 60,
    loadingKPerS: Math.max(station.loadingDropKPerMin ?? 0, station.maxCoolingKPerMin) / 60,
    loadedMs,
    recoveredMs: loadedMs + recoveryMin * 60_000,
    leastC: Math.max(sensor.plausible.minC, station.surroundingsMinC),
    mostC: Math.min(sensor.plausible.maxC, station.supplyMaxC),
    noiseK: 2 * sensor.resolutionK + 3 * (sensor.noiseK ?? 0),
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
  at(tMs: number): void;
}

/**
 * A face's temperature at any time [°C]: what it may least, most likely and at most have been.
 *
 * Between two good readings it lies between the lines of greatest cooling and heating through both;
 * after the last (before the first) only one of them bounds it; nominal is linear between and holds
 * the last value. A pair steeper than the rates is bounded by its two readings. A point never read
 * may have been anything its station can be. Fewer readings can only widen it.
 */
export class Envelope implements FaceCourse {
  low = 0;
  nominal = 0;
  high = 0;
  private readonly history: PointHistory;
  private readonly rates: Rates;
  private next = 0;

  constructor(history: PointHistory, rates: Rates) {
    this.history = history;
    this.rates = rates;
  }

  get neverRead(): boolean {
    return this.history.timesMs.length === 0;
  }

  /** Between two equal readings the ends part up to where the greatest fall and rise meet; half of it on average. */
  get apartK(): number {
    const { heatingKPerS, coolingKPerS, noiseK } = this.rates;
    const meetingKPerS = (heatingKPerS * coolingKPerS) / (heatingKPerS + coolingKPerS);
    return noiseK + (0.5 * meetingKPerS * (this.history.spacingMs ?? 0)) / 1000;
  }

  /** Sets low, nominal and high for a time; nearly always one later than before. */
  at(tMs: number): void {
    const { timesMs, valuesC } = this.history;
    while (this.next < timesMs.length && timesMs[this.next] <= tMs) this.next += 1;
    while (this.next > 0 && timesMs[this.next - 1] > tMs) this.next -= 1;
    const { leastC, mostC, noiseK, heatingKPerS } = this.rates;
    const { next } = this;
    const before = next - 1;
    const readBefore = before >= 0;
    const readAfter = next < timesMs.length;
    if (!readBefore && !readAfter) {
      this.low = leastC;
      this.high = mostC;
      this.nominal = 0.5 * (leastC + mostC);
      return;
    }
    let low = -Infinity;
    let high = Infinity;
    let nominal = 0;
    if (readBefore) {
      const valueC = valuesC[before];
      low = valueC - noiseK - this.fallK(timesMs[before], tMs);
      high = valueC + noiseK + (heatingKPerS * (tMs - timesMs[before])) / 1000;
      nominal = valueC;
    }
    if (readAfter) {
      const valueC = valuesC[next];
      const aheadS = (timesMs[next] - tMs) / 1000;
      low = Math.max(low, valueC - noiseK - heatingKPerS * aheadS);
      high = Math.min(high, valueC + noiseK + this.fallK(tMs, timesMs[next]));
      nominal = readBefore
        ? nominal +
          ((valueC - nominal) * (tMs - timesMs[before])) / (timesMs[next] - timesMs[before])
        : valueC;
      if (readBefore && this.isSteep(before)) {
        low = Math.min(valuesC[before], valueC) - noiseK;
        high = Math.max(valuesC[before], valueC) + noiseK;
      }
    }
    this.nominal = nominal;
    this.low = Math.min(nominal, Math.max(low, leastC));
    this.high = Math.max(nominal, Math.min(high, mostC));
  }

  /** Whether a reading and the next are further apart than the rates and their noise allow. */
  private isSteep(before: number): boolean {
    const { timesMs, valuesC } = this.history;
    const { heatingKPerS, noiseK } = this.rates;
    const riseK = valuesC[before + 1] - valuesC[before];
    const fromMs = timesMs[before];
    const toMs = timesMs[before + 1];
    return (
      riseK > (heatingKPerS * (toMs - fromMs)) / 1000 + 2 * noiseK ||
      -riseK > this.fallK(fromMs, toMs) + 2 * noiseK
    );
  }

  /** Greatest fall between two times [K]: faster while the cold charge draws heat. */
  private fallK(fromMs: number, toMs: number): number {
    const { loadingKPerS, coolingKPerS, loadedMs, recoveredMs } = this.rates;
    const loadingMs = Math.max(0, Math.min(toMs, recoveredMs) - Math.max(fromMs, loadedMs));
    return (loadingKPerS * loadingMs + coolingKPerS * (toMs - fromMs - loadingMs)) / 1000;
  }
}
