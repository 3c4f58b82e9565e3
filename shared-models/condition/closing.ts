/** When something happened, as readings that come now and then can tell it [ms]. */
export interface Between {
  earliestMs: number;
  latestMs: number;
  /** Best single value: where a curve says more than the readings beside it, else the middle. */
  bestMs: number;
}

/**
 * By which trace a closing was found. A pressure gauge or a limit switch is an edge as sharp as it is
 * read; the dip of the platens after a cold charge is late by the metal between face and element.
 */
export type FoundBy = 'pressure' | 'limit-switch' | 'door' | 'dip';

/** The fall and return of one face after a cold charge. */
export interface Dip {
  point: string;
  start: Between;
  /** Before the charge [°C]. */
  levelC: number;
  /** Deepest so far [°C] and when. */
  bottomC: number;
  bottomMs: number;
  /** Whether it has turned upwards. */
  turned: boolean;
  /** Back within {@link recoveredK} of the level before [ms]; null while it is not. */
  recoveredMs: number | null;
  /** Steepest fall and steepest way back so far [K/min]; 0 where readings are too seldom to tell. */
  fallKPerMin: number;
  riseKPerMin: number;
  /** Below the level by half minutes from the charge on [K], up to {@link followedMin}; null where nothing was read. */
  belowK: (number | null)[];
}

/** A face has recovered when it is so near to where it was [K]. */
export const recoveredK = 2;

/** The way back after a charge is drawn for so long [min]. */
export const followedMin = 12;

/** One cycle of a station, with or without somebody's word for it. */
export interface Closing {
  /** Best start when it was first told: its name, which stays whatever else is heard [ms]. */
  foundMs: number;
  start: Between;
  /** Null while it is closed, and where nothing tells its end. */
  end: Between | null;
  /** From when on it may have ended, where only that is known [ms]. */
  endEarliestMs: number;
  foundBy: FoundBy;
  /** One a face that dipped; none: no cold charge seen. */
  dips: Dip[];
  /** Whether faces were hot and heard, so that a cold charge would have been seen. */
  wouldHaveDipped: boolean;
}

/** What a closing says of its charge. */
export type ColdCharge =
  | 'seen'
  | 'not-seen'
  /** The plates were not hot: a press closed to heat up, say. Nothing would have shown. */
  | 'plates-cold'
  /** Closed so shortly that a dip may still come. */
  | 'not-yet';

/** By when the faces of a charge have begun to dip, the slow ones too [ms]. */
const dipsByMs = 5 * 60_000;

/** @param heardUntilMs newest reading of the station's faces [ms] */
export function coldChargeOf(closing: Closing, heardUntilMs: number): ColdCharge {
  if (closing.dips.length > 0) return 'seen';
  if (!closing.wouldHaveDipped) return 'plates-cold';
  return heardUntilMs > closing.start.latestMs + dipsByMs ? 'not-seen' : 'not-yet';
}

/** Beyond it the middle between earliest and latest says nothing [ms]. */
const mostBestMs = 60 * 60_000;

/** The best single time, or null where nobody could say it to the hour. */
export function singleMs({ earliestMs, latestMs, bestMs }: Between): number | null {
  return latestMs - earliestMs > mostBestMs ? null : bestMs;
}

/**
 * Knowing nothing else, any time between is as good as another, and the middle the best one.
 *
 * @source JCGM 100:2008 (GUM), 4.3.7
 */
export function between(earliestMs: number, latestMs: number): Between {
  return { earliestMs, latestMs, bestMs: (earliestMs + latestMs) / 2 };
}

/** What two traces of the same moment leave of it: what both allow, or all of both where they disagree. */
export function narrowed(a: Between, b: Between): Between {
  const earliestMs = Math.max(a.earliestMs, b.earliestMs);
  const latestMs = Math.min(a.latestMs, b.latestMs);
  if (earliestMs > latestMs) {
    return between(Math.min(a.earliestMs, b.earliestMs), Math.max(a.latestMs, b.latestMs));
  }
  const middleMs = (a.bestMs + b.bestMs) / 2;
  return { earliestMs, latestMs, bestMs: Math.min(latestMs, Math.max(earliestMs, middleMs)) };
}

/** Whether two moments may be one, or lie no farther apart than `withinMs`. */
export function near(a: Between, b: Between, withinMs: number): boolean {
  return a.earliestMs <= b.latestMs + withinMs && b.earliestMs <= a.latestMs + withinMs;
}
