import { budgetOf } from './budget.ts';
import { coatsAfter } from './coats.ts';
import { seamsOf } from './fitted-span.ts';
import { deviationsOf } from './deviations.ts';
import { foldLoad, isUnread, pointsOf, type LoadFold } from './fold.ts';
import { runLaws } from './laws.ts';
import { gridStartMs } from './marks.ts';
import { parseReadings, type RawReading } from './readings.ts';
import { isRefused, reasonsOf } from './reasons.ts';
import { repressOf } from './repress.ts';
import { requirementResults } from './requirements.ts';
import type { JudgedPlace, Quality, ScoreInput, ScoreResult, Verdict } from './shape.ts';
import { decide, EQUAL_MARGIN_SHARE, judgedWindow, marginOf, worstVerdict } from './window.ts';
import type { JudgedWindow } from './window.ts';
import { intervalOf, isBlind, type ZoneRuns } from './zone-runs.ts';

/**
 * The verdict on a load, as if it ended now.
 *
 * Pure: the same input and the same set of readings give the same result, to the bit, on every
 * machine and in any order of the readings.
 *
 * @param readingsCsv canonical text of `readings.ts`, raw values
 * @throws RangeError for readings that are no canonical text, or a point without a sensor
 */
export function score(input: ScoreInput, readingsCsv: string): ScoreResult {
  return scoreReadings(input, parseReadings(readingsCsv));
}

/** @param readings sorted by point and time */
export function scoreReadings(input: ScoreInput, readings: readonly RawReading[]): ScoreResult {
  return resultOf(input, foldLoad(input, readings));
}

/** What a fold says, in words of the recipe's window. */
export function resultOf(input: ScoreInput, fold: LoadFold): ScoreResult {
  const law = runLaws(input.recipe.law).nominal;
  const judged = judgedWindow(input.recipe, law.unit);
  const possible = isRefused(input) ? [] : placesOf(fold, judged);
  // With nothing read there is no place to show, but it is known whether heat can be too much already.
  const places = isUnread(input, fold) ? [] : possible;
  const worst = worstPlace(places, judged);
  const coats = coatsAfter(input, fold);
  const requirements = requirementResults(input, fold, places, judged, coats);
  const budget = worst === null ? [] : budgetOf(fold, judged, worst);
  const verdicts: Verdict[] = [worstVerdict(places.map(({ verdict }) => verdict))];
  if (fold.zones.includes(null)) verdicts.push('unproven');
  for (const { verdict } of requirements) if (verdict !== 'not-monitored') verdicts.push(verdict);
  const verdict = worstVerdict(verdicts);
  return {
    format: 1,
    state: input.endMs === null ? 'open' : 'ended',
    verdict,
    side: sideOf(verdict, possible, requirements),
    measure: law.measure,
    unit: judged.unit,
    window: judged.window,
    worst: worst === null ? null : worstOf(input, worst, judged),
    places,
    ...(coats.length === 0 ? {} : { coats }),
    repress: repressOf(input.recipe, places),
    requirements,
    deviations: deviationsOf(input, fold, requirements),
    budget,
    quality: qualityOf(input, fold),
    reasons: reasonsOf(input, fold, judged, worst, requirements, budget),
  };
}

function placesOf(fold: LoadFold, { perLawUnit, window }: JudgedWindow): JudgedPlace[] {
  return fold.zones.flatMap((zone) => {
    if (zone === null) return [];
    return zone.piece.spots.map(({ glueLine, depthMm }, spot) => {
      const earned = intervalOf(zone, spot);
      const interval = {
        low: earned.low * perLawUnit,
        nominal: earned.nominal * perLawUnit,
        high: earned.high * perLawUnit,
      };
      return {
        zone: zone.zone.id,
        glueLine,
        depthMm,
        ...interval,
        ...said(zone, interval, window),
      };
    });
  });
}

/** Without a reading of both its faces nothing is in-window, however wide the window. */
function said(
  zone: ZoneRuns,
  interval: { low: number; nominal: number; high: number },
  window: ScoreResult['window'],
): Pick<JudgedPlace, 'verdict' | 'side'> {
  const decided = decide(interval, window);
  if (decided.verdict !== 'in-window' || !isBlind(zone)) return decided;
  return { verdict: 'unproven', side: 'both' };
}

/** The place of least margin; equal margins fall to the first zone, then to the lowest glue line. */
function worstPlace(places: readonly JudgedPlace[], { window }: JudgedWindow): JudgedPlace | null {
  const equal = EQUAL_MARGIN_SHARE * window.least;
  let worst: JudgedPlace | null = null;
  for (const place of places) {
    if (worst === null || marginOf(worst, window) - marginOf(place, window) > equal) worst = place;
  }
  return worst;
}

/** A rest's margin is the worse of its equivalent and its calendar days. */
function worstOf(
  input: ScoreInput,
  place: JudgedPlace,
  { window, calendarLeastMs }: JudgedWindow,
): NonNullable<ScoreResult['worst']> {
  const { zone, glueLine, depthMm } = place;
  const own = marginOf(place, window);
  if (calendarLeastMs === null) return { zone, glueLine, depthMm, margin: own };
  const restedMs = (input.endMs ?? input.asOfMs) - input.startMs;
  const margin = Math.min(own, (restedMs - calendarLeastMs) / 86_400_000);
  return { zone, glueLine, depthMm, margin };
}

/** Which end of the window is missed: by the places whose verdict is the load's, else by any. */
function sideOf(
  verdict: Verdict,
  places: readonly JudgedPlace[],
  requirements: ScoreResult['requirements'],
): ScoreResult['side'] {
  if (verdict === 'in-window') return null;
  const decisive = [...places, ...requirements].filter((each) => each.verdict === verdict);
  const sides = (decisive.length > 0 ? decisive : places).map(({ side }) => side);
  const short = sides.includes('short') || sides.includes('both');
  const long = sides.includes('long') || sides.includes('both');
  if (short && long) return 'both';
  if (short || long) return short ? 'short' : 'long';
  if (verdict === 'under') return 'short';
  return verdict === 'over' ? 'long' : 'both';
}

function qualityOf(input: ScoreInput, { histories, gaps }: LoadFold): Quality {
  const quality: Quality = {
    readings: 0,
    doubtful: 0,
    conflicts: 0,
    duplicates: 0,
    gaps,
    silent: [],
  };
  const untilMs = input.endMs ?? input.asOfMs;
  const seams = pointsOf(input).flatMap((point) => {
    const sensor = input.sensors[point];
    return sensor === undefined ? [] : seamsOf(point, sensor, gridStartMs(input), untilMs);
  });
  if (seams.length > 0) quality.seams = seams;
  for (const point of pointsOf(input)) {
    const history = histories.get(point);
    if (history === undefined) continue;
    quality.readings += history.timesMs.length;
    quality.doubtful += history.doubtful;
    quality.conflicts += history.conflicts;
    quality.duplicates += history.duplicates;
    const last = gaps.filter((gap) => gap.point === point).at(-1);
    if (history.timesMs.length === 0) quality.silent.push({ point, sinceMs: null });
    else if (last !== undefined && (last.toMs === null || last.toMs === untilMs)) {
      quality.silent.push({ point, sinceMs: last.fromMs });
    }
  }
  return quality;
}
