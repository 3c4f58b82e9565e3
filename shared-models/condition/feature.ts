/** What is measured of a zone, once a cycle: samples within a cycle follow each other too closely to be charted. */
export interface FeatureKind {
  unit: 'min' | 'K' | '°C' | 'K/min' | '%' | 'A' | 'bar/min' | 'count';
  /** Which way is worse; null: any change is news, and none is worse by itself. */
  worse: 'more' | 'less' | null;
  /** Of every heat-up, every charge, every cooling down, or every day of a room. */
  per: 'heat-up' | 'charge' | 'shut-down' | 'day';
}

export const features = {
  /** From the start of heating to ready. */
  'minutes-to-ready': { unit: 'min', worse: 'more', per: 'heat-up' },
  /** Rate when it passes 60 and 100 °C. */
  'rate-at-60': { unit: 'K/min', worse: 'less', per: 'heat-up' },
  'rate-at-100': { unit: 'K/min', worse: 'less', per: 'heat-up' },
  /** Of a first-order approach fitted to the whole curve. */
  'time-constant': { unit: 'min', worse: 'more', per: 'heat-up' },
  overshoot: { unit: 'K', worse: null, per: 'heat-up' },
  /** From ready until it stays within 1 K of where it settles; it jumps from swing to swing, and is not judged. */
  settling: { unit: 'min', worse: null, per: 'heat-up' },
  /** Greatest less least face of the station when the last one was ready and had settled. */
  spread: { unit: 'K', worse: 'more', per: 'heat-up' },
  /** Half the range within ten minutes of hold. */
  ripple: { unit: 'K', worse: 'more', per: 'heat-up' },
  /** Where it holds, before each charge. */
  'hold-level': { unit: '°C', worse: 'less', per: 'charge' },
  'dip-depth': { unit: 'K', worse: 'more', per: 'charge' },
  /** Steepest fall of a face under a cold charge, and steepest way back; what envelopes have to hold. */
  'charge-fall': { unit: 'K/min', worse: null, per: 'charge' },
  'charge-rise': { unit: 'K/min', worse: null, per: 'charge' },
  /** From the charge until it is back within 2 K. */
  recovery: { unit: 'min', worse: 'more', per: 'charge' },
  /** What heating takes while nothing draws on it: mean before the charge. */
  'output-at-hold': { unit: '%', worse: 'more', per: 'charge' },
  'current-at-hold': { unit: 'A', worse: null, per: 'charge' },
  'pressure-decay': { unit: 'bar/min', worse: 'more', per: 'charge' },
  /** Readings that no plate can give: a wire that breaks for moments. */
  'open-circuits': { unit: 'count', worse: 'more', per: 'charge' },
  /** How fast it cools from 120 to 100 °C with the heat off. */
  'idle-loss': { unit: 'K/min', worse: 'more', per: 'shut-down' },
  /** Of a room: mean of the day, and half of what it swung by. */
  'day-level': { unit: '°C', worse: null, per: 'day' },
  'day-swing': { unit: 'K', worse: 'more', per: 'day' },
} as const satisfies Record<string, FeatureKind>;

export type FeatureName = keyof typeof features;

export const featureNames = Object.keys(features) as FeatureName[];

/** One value of one cycle. */
export interface FeatureRow {
  feature: FeatureName;
  /** The face, gauge or output it is of; the station's own name where it is of all faces together. */
  point: string;
  /** Start of the cycle it is of [ms]. */
  atMs: number;
  /** In the feature's unit. */
  value: number;
  /** What the heat-up began at [°C]; null for what is not of a heat-up. */
  startC: number | null;
}
