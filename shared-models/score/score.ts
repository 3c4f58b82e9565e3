import { runLaws } from './laws.ts';
import { foldLoad, intervalOf, type LoadFold } from './fold.ts';
import { parseReadings, type RawReading } from './readings.ts';
import { requirementResults } from './requirements.ts';
import type {
  BudgetRow,
  JudgedPlace,
  Quality,
  Reason,
  ScoreInput,
  ScoreResult,
  Verdict,
} from './shape.ts';
import {
  decide,
  EQUAL_MARGIN_SHARE,
  judgedWindow,
  marginOf,
  worstVerdict,
  type JudgedWindow,
} from './window.ts';

/** Heating that one-dimensional conduction cannot follow. */
const REFUSED = ['radio-frequency', 'infrared', 'ultraviolet'];

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
  return resultOf(input, readings, foldLoad(input, readings));
}

/** What a fold says, in words of the recipe's window. */
export function resultOf(
  input: ScoreInput,
  readings: readonly RawReading[],
  fold: LoadFold,
): ScoreResult {
  const law = runLaws(input.recipe.law).nominal;
  const judged = judgedWindow(input.recipe, law.unit);
  const refused = REFUSED.includes(input.station.heating);
  const places = refused ? [] : placesOf(fold, judged);
  const worst = worstPlace(places, judged);
  const requirements = requirementResults(input, judged);
  const reasons = reasonsOf(input, judged, worst, places, fold);
  const heat = worstVerdict(places.map(({ verdict }) => verdict));
  const verdicts: Verdict[] = [heat];
  for (const { verdict } of requirements) if (verdict !== 'not-monitored') verdicts.push(verdict);
  const verdict = worstVerdict(verdicts);
  return {
    format: 1,
    state: input.endMs === null ? 'open' : 'ended',
    verdict,
    side: sideOf(verdict, worst === null ? null : places[worst], requirements.length > 0),
    measure: law.measure,
    unit: judged.unit,
    window: judged.window,
    worst: worst === null ? null : worstOf(places[worst], judged),
    places,
    requirements,
    deviations: [],
    budget: worst === null ? [] : budgetOf(input, readings, fold, judged, places[worst]),
    quality: qualityOf(input, fold),
    reasons,
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
      return { zone: zone.zone.id, glueLine, depthMm, ...interval, ...decide(interval, window) };
    });
  });
}

/** The place of least margin; equal margins fall to the first zone, then to the lowest glue line. */
function worstPlace(places: JudgedPlace[], { window }: JudgedWindow): number | null {
  let worst: number | null = null;
  const equal = EQUAL_MARGIN_SHARE * window.least;
  places.forEach((place, index) => {
    if (worst === null) worst = index;
    else {
      const behind = marginOf(places[worst], window) - marginOf(place, window);
      if (behind > equal) worst = index;
    }
  });
  return worst;
}

function worstOf(place: JudgedPlace, { window }: JudgedWindow): NonNullable<ScoreResult['worst']> {
  const { zone, glueLine, depthMm } = place;
  return { zone, glueLine, depthMm, margin: marginOf(place, window) };
}

function sideOf(
  verdict: Verdict,
  worst: JudgedPlace | null,
  required: boolean,
): ScoreResult['side'] {
  if (verdict === 'in-window') return null;
  if (worst !== null && worst.side !== null) return worst.side;
  return worst === null && !required ? 'both' : 'short';
}

/**
 * What each doubt costs at the worst place. The low run stands at the root sum of squares, so a
 * term's share of it is its weight; gaps are priced by running once without them.
 */
function budgetOf(
  input: ScoreInput,
  readings: readonly RawReading[],
  fold: LoadFold,
  { perLawUnit, unit }: JudgedWindow,
  worst: JudgedPlace,
): BudgetRow[] {
  const zoneIndex = fold.zones.findIndex((zone) => zone?.zone.id === worst.zone);
  const zone = fold.zones[zoneIndex];
  if (zone === null || zone === undefined) return [];
  const spot = zone.piece.spots.findIndex(({ glueLine }) => glueLine === worst.glueLine);
  const whole = intervalOf(zone, spot);
  const gapless = foldLoad(
    {
      ...input,
      zones: [zone.zone],
      weights: input.weights === null ? null : [input.weights[zoneIndex]],
    },
    readings,
    null,
    true,
  ).zones[0];
  const complete = gapless === null || gapless === undefined ? whole : intervalOf(gapless, spot);
  const rows = zone.doubts.map(({ term }): BudgetRow => ({
    term,
    down: zone.weightOf(term) * (complete.nominal - complete.low) * perLawUnit,
    up: zone.weightOf(term) * (complete.high - complete.nominal) * perLawUnit,
    unit,
  }));
  const down = Math.max(0, complete.low - whole.low) * perLawUnit;
  const up = Math.max(0, whole.high - complete.high) * perLawUnit;
  if (down > 0 || up > 0) rows.push({ term: 'gap', down, up, unit });
  return rows;
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
  for (const [point, history] of histories) {
    quality.readings += history.timesMs.length;
    quality.doubtful += history.doubtful;
    quality.conflicts += history.conflicts;
    quality.duplicates += history.duplicates;
    const last = gaps.filter((gap) => gap.point === point).at(-1);
    const untilMs = input.endMs ?? input.asOfMs;
    if (history.timesMs.length === 0) quality.silent.push({ point, sinceMs: null });
    else if (last !== undefined && (last.toMs === null || last.toMs === untilMs)) {
      quality.silent.push({ point, sinceMs: last.fromMs });
    }
  }
  return quality;
}

function reasonsOf(
  input: ScoreInput,
  { window }: JudgedWindow,
  worst: number | null,
  places: JudgedPlace[],
  fold: LoadFold,
): Reason[] {
  const reasons: Reason[] = [];
  const { heating } = input.station;
  if (REFUSED.includes(heating)) {
    reasons.push({ code: 'refused', what: heating, because: 'conduction cannot follow it' });
  }
  if (worst !== null) {
    const { zone, glueLine, low, high } = places[worst];
    if (low < window.least) {
      reasons.push({ code: 'low-misses-least', by: window.least - low, zone, glueLine });
    }
    if (window.most !== null && high > window.most) {
      reasons.push({ code: 'high-passes-most', by: high - window.most, zone, glueLine });
    }
  }
  for (const { zone, ...faces } of input.zones.map((z) => ({ zone: z.id, ...z }))) {
    for (const point of [faces.upper, faces.lower, faces.air]) {
      if (point !== null && fold.histories.get(point)?.timesMs.length === 0) {
        reasons.push({ code: 'no-reading', zone, point });
      }
    }
  }
  for (const { point, fromMs, toMs } of fold.gaps) {
    reasons.push({ code: 'gap', point, fromMs, toMs: toMs ?? input.asOfMs, cost: 0 });
  }
  const { pressureOn, releaseStart } = input.marks;
  if (pressureOn.assumed === true || releaseStart?.assumed === true) {
    reasons.push({ code: 'marks-assumed' });
  }
  return reasons;
}
