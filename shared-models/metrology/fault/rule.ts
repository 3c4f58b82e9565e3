/** A reading as the rules see it. */
export interface WatchedReading {
  /** Its own time, and when it came [ms]. */
  tMs: number;
  receivedMs: number;
  raw: number;
  /** As the instrument shows it; null where the raw value is no temperature, or the signal none. */
  shownC: number | null;
  /** The same time had another value before. */
  conflict: boolean;
}

/** What is known of a point before its first reading. */
export interface WatchedPoint {
  id: string;
  station: string | null;
  signal: string;
  role: 'control' | 'watch';
  /** Usual time between its readings [ms]. */
  everyMs: number;
  /** It speaks on change: equal values say nothing of it. */
  onChange: boolean;
  resolutionK: number;
  plausible: { minC: number; maxC: number; maxRateKPerMin: number } | null;
}

/** Something a rule sees now, and goes on seeing until it is over. */
export interface Symptom {
  point: string;
  others: string[];
  /** From which reading on it is doubted [ms]. */
  fromMs: number;
  evidence: Record<string, number | string | null>;
}

/** What every rule says of itself, so that a screen and a table can say it too. */
export interface RuleFacts {
  /** Its name, in entries and message files. */
  rule: string;
  /** Its readings count as a gap from `fromMs` on. */
  doubts: boolean;
  /** What it holds against a point. */
  evidence: string;
  /** When it speaks and nothing is wrong. */
  falseAlarms: string;
  /** After a restart it has to hear for so long before it can say that what was found is over [ms]. */
  needsMs: number;
}

export interface Ear {
  take(reading: WatchedReading): void;
}

/** A rule over one point. Fed reading by reading; it keeps a few numbers, never the readings. */
export interface PointRule extends Ear {
  /** Null: nothing is wrong, or nothing can be said yet. */
  look(nowMs: number): Omit<Symptom, 'point' | 'others'> | null;
}

export interface PointRuleKind extends RuleFacts {
  /** Null where the rule has nothing to say of such a point. */
  over(point: WatchedPoint): PointRule | null;
}

/** A rule over all points of a plant at once: what no single point can show. */
export interface PlantRule {
  /** What hears one point's readings; null where the rule has nothing to ask of it. */
  ear(point: string): Ear | null;
  /** A load starts: a cold charge touches these points, and no others of the station. */
  loaded?(points: readonly string[], startMs: number): void;
  /** What was found before a restart, where later evidence adds to it. */
  resume?(symptom: Symptom): void;
  look(nowMs: number): Symptom[];
}

export interface PlantRuleKind extends RuleFacts {
  over(points: readonly WatchedPoint[]): PlantRule;
}

/** Of a pair that is kept as `one other`, each beside the other. */
export function bothOf(pair: string): [point: string, other: string][] {
  const [one = '', other = ''] = pair.split(' ');
  return [
    [one, other],
    [other, one],
  ];
}
