import type { RawReading } from '../score/readings.ts';
import { scoreReadings } from '../score/score.ts';
import type { FittedSensor, ScoredSensor, ScoreInput, Verdict } from '../score/shape.ts';

/** How an error that was found may have come about. */
export const hypotheses = ['from-the-start', 'growing', 'since-last-event'] as const;
export type Hypothesis = (typeof hypotheses)[number];

/** An instrument that came back wrong. */
export interface AsFound {
  instrument: string;
  /** What it showed too much [K]; negative: too little. */
  errorK: number;
  /** When it was last known to be right, and when it was found [ms]. */
  lastGoodMs: number;
  foundMs: number;
  /** The last thing that is known to have happened to it: a change, a knock; null: nothing is. */
  lastEventMs: number | null;
}

export type Effect = 'verdict-changed' | 'narrower' | 'unaffected';

export interface ReviewedLoad {
  load: string;
  startMs: number;
  verdict: Verdict;
  /** Least distance to the window's ends, as recorded; null where nothing was judged. */
  margin: number | null;
  by: Record<Hypothesis, { errorK: number; verdict: Verdict; margin: number | null }>;
  /** The worst of the three. */
  effect: Effect;
}

/** A margin that shrinks by less is the last digit [of the measure]. */
const SAME_MARGIN = 1e-9;

/** What an instrument may have shown too much at a time, by a hypothesis [K]. */
export function errorAt(
  { errorK, lastGoodMs, foundMs, lastEventMs }: AsFound,
  hypothesis: Hypothesis,
  atMs: number,
): number {
  if (atMs < lastGoodMs) return 0;
  switch (hypothesis) {
    case 'from-the-start':
      return errorK;
    case 'growing': {
      const share = (atMs - lastGoodMs) / Math.max(1, foundMs - lastGoodMs);
      return errorK * Math.min(1, share);
    }
    case 'since-last-event':
      return atMs >= (lastEventMs ?? lastGoodMs) ? errorK : 0;
  }
}

/**
 * A load scored again as if an instrument had shown too much, by each of three hypotheses. Its own inputs
 * and weights stand, so that nothing else moves; the recorded account stays what it is.
 *
 * @returns null where the instrument took no part in the load
 */
export function reviewLoad(
  input: ScoreInput,
  readings: readonly RawReading[],
  found: AsFound,
): ReviewedLoad | null {
  const tookPart = Object.values(input.sensors).some((sensor) => names(sensor, found.instrument));
  if (!tookPart || (input.endMs ?? input.asOfMs) < found.lastGoodMs) return null;
  const was = said(input, readings);
  const entries = hypotheses.map((hypothesis) => {
    const errorK = errorAt(found, hypothesis, input.startMs);
    const again = errorK === 0 ? was : said(corrected(input, found.instrument, errorK), readings);
    return [hypothesis, { errorK, ...again }] as const;
  });
  const by = Object.fromEntries(entries) as ReviewedLoad['by'];
  return { load: input.load, startMs: input.startMs, ...was, by, effect: effectOf(was, by) };
}

function said(input: ScoreInput, readings: readonly RawReading[]) {
  const { verdict, worst } = scoreReadings(input, readings);
  return { verdict, margin: worst?.margin ?? null };
}

function effectOf(
  was: { verdict: Verdict; margin: number | null },
  by: ReviewedLoad['by'],
): Effect {
  const all = Object.values(by);
  if (all.some(({ verdict }) => verdict !== was.verdict)) return 'verdict-changed';
  const least = all.reduce((sum, { margin }) => Math.min(sum, margin ?? Infinity), Infinity);
  return was.margin !== null && least < was.margin - SAME_MARGIN ? 'narrower' : 'unaffected';
}

/** The same load with what the instrument showed too much taken off. */
function corrected(input: ScoreInput, instrument: string, errorK: number): ScoreInput {
  const off = (fitted: FittedSensor): FittedSensor => {
    if (fitted.instrument !== instrument) return fitted;
    const { corrections } = fitted;
    const rows = corrections.length > 0 ? corrections : [{ atC: 0, correctionK: 0 }];
    return {
      ...fitted,
      corrections: rows.map(({ atC, correctionK }) => ({ atC, correctionK: correctionK - errorK })),
    };
  };
  const sensors = Object.entries(input.sensors).map(([point, sensor]): [string, ScoredSensor] => {
    const { changes, doubted } = sensor;
    return [
      point,
      {
        ...off(sensor),
        ...(changes === undefined
          ? {}
          : {
              changes: changes.map(({ fromMs, sensor: later }) => ({
                fromMs,
                sensor: later === null ? null : off(later),
              })),
            }),
        ...(doubted === undefined ? {} : { doubted }),
      },
    ];
  });
  return { ...input, sensors: Object.fromEntries(sensors) };
}

function names({ instrument, changes = [] }: ScoredSensor, wanted: string): boolean {
  return instrument === wanted || changes.some(({ sensor }) => sensor?.instrument === wanted);
}
