import { Envelope, ratesOf } from './envelope.ts';
import { foldLoad, gridOfLoad, pointsOf, type LoadFold } from './fold.ts';
import { gridTimeMs, type Grid } from './grid.ts';
import { heartbeatInTimeMs, type PointHistory } from './point-history.ts';
import { parseReadings } from './readings.ts';
import { scoreReadings } from './score.ts';
import type { LoadTrace, ScoreInput } from './shape.ts';
import { judgedWindow } from './window.ts';
import { intervalOf, type ZoneRuns } from './zone-runs.ts';

/** A picture needs no more, unless asked: one time a few pixels. */
export const USUAL_TIMES = 300;

/** What is looked at; what is left out: the place that decides, the load from its start to its end. */
export interface TraceView {
  zone?: string | undefined;
  /** Numbered from the top, from 1; only with its zone. */
  glueLine?: number | undefined;
  fromMs?: number | undefined;
  toMs?: number | undefined;
  /** Times at most, at least 10. */
  points?: number | undefined;
}

/**
 * What a load's faces, lines and sum did, at no more times than asked, for screen and print.
 *
 * The section and the growth are those of the place that is looked at. A zone or line that the load has
 * not is answered with the place that decides.
 *
 * @throws RangeError as `score`
 */
export function trace(input: ScoreInput, readingsCsv: string, view: TraceView = {}): LoadTrace {
  const readings = parseReadings(readingsCsv);
  const { worst, places, unit, quality } = scoreReadings(input, readings);
  const { perLawUnit } = judgedWindow(input.recipe, unit);
  const looked = places.find(
    (place) => place.zone === view.zone && place.glueLine === (view.glueLine ?? null),
  );
  const { zone: zoneId, glueLine } = looked ?? worst ?? { zone: '', glueLine: null };
  const drawn: LoadTrace = {
    timesMs: [],
    measuredC: [],
    lines: [],
    section: null,
    cure: { zone: zoneId, glueLine, low: [], nominal: [], high: [] },
    gaps: quality.gaps,
  };
  const grid = gridOfLoad(input);
  const [first, last] = stepsSeen(grid, view);
  const every = Math.max(1, Math.ceil((last - first + 1) / ((view.points ?? USUAL_TIMES) - 1)));
  const watch = (zone: ZoneRuns, steps: number) => {
    if (zone.zone.id !== zoneId || steps < first || steps > last) return;
    if ((steps - first) % every !== 0 && steps !== last) return;
    drawn.timesMs.push(gridTimeMs(grid, steps));
    drawZone(drawn, zone, glueLine, perLawUnit);
  };
  const { histories } = foldLoad(input, readings, watch);
  drawn.measuredC = measured(input, drawn.timesMs, histories);
  return drawn;
}

/** First and last step of what is looked at; of the whole load where that lies outside it. */
export function stepsSeen(grid: Grid, { fromMs, toMs }: TraceView): [first: number, last: number] {
  const stepAt = (ms: number) => Math.floor((ms - grid.startMs) / grid.stepMs);
  const first = fromMs === undefined ? 0 : Math.max(0, stepAt(fromMs));
  const last = toMs === undefined ? grid.steps : Math.min(grid.steps, stepAt(toMs) + 1);
  return first < last ? [first, last] : [0, grid.steps];
}

export function drawZone(
  drawn: LoadTrace,
  zone: ZoneRuns,
  glueLine: number | null,
  perLawUnit: number,
): void {
  const { spots, slab, ownNodes } = zone.piece;
  const id = zone.zone.id;
  if (drawn.lines.length === 0) {
    drawn.lines = spots.map((spot) => ({
      zone: id,
      glueLine: spot.glueLine,
      lowC: [],
      nominalC: [],
      highC: [],
    }));
    if (slab !== null) {
      drawn.section = { zone: id, depthsMm: slab.depthsMm.slice(...ownNodes), tempC: [] };
    }
  }
  spots.forEach((spot, s) => {
    const line = drawn.lines[s];
    const nominalC = zone.nominal.spotC(s);
    line.nominalC.push(nominalC);
    line.lowC.push(Math.min(nominalC, ...zone.lows.map((run) => run.spotC(s))));
    line.highC.push(Math.max(nominalC, ...zone.highs.map((run) => run.spotC(s))));
    if (spot.glueLine !== glueLine) return;
    const { low, nominal, high } = intervalOf(zone, s);
    drawn.cure.low.push(low * perLawUnit);
    drawn.cure.nominal.push(nominal * perLawUnit);
    drawn.cure.high.push(high * perLawUnit);
  });
  drawn.section?.tempC.push([...zone.nominal.tempC.subarray(...ownNodes)]);
}

/** The last good reading at each time; null where the point was silent. */
export function measured(
  input: ScoreInput,
  timesMs: readonly number[],
  histories: LoadFold['histories'],
): LoadTrace['measuredC'] {
  return pointsOf(input).flatMap((point) => {
    const zone = input.zones.find(
      (z) =>
        [z.upper, z.lower, z.air].includes(point) ||
        z.belt?.zones.some((each) => each.air === point) === true,
    );
    const history = histories.get(point);
    if (zone === undefined || history === undefined) return [];
    const face = zone.upper === point ? 'upper' : zone.lower === point ? 'lower' : 'air';
    const aliveMs = heartbeatInTimeMs(input.sensors[point]?.onChange);
    const oldMs = Math.max(3 * (history.spacingMs ?? 0) + 5000, aliveMs);
    let next = 0;
    const valuesC = timesMs.map((t) => {
      while (next < history.timesMs.length && history.timesMs[next] <= t) next += 1;
      const known = next > 0 && t - history.timesMs[next - 1] <= oldMs;
      return known ? history.valuesC[next - 1] : null;
    });
    return [{ point, zone: zone.id, face, valuesC, ...boundsAt(input, point, history, timesMs) }];
  });
}

/** What a point's readings leave open at each time; nothing of a point that measures no temperature. */
function boundsAt(
  input: ScoreInput,
  point: string,
  history: PointHistory,
  timesMs: readonly number[],
): { lowC?: number[]; highC?: number[] } {
  const sensor = input.sensors[point];
  if (sensor === undefined) return {};
  const envelope = new Envelope(history, ratesOf(input, sensor));
  const ends = timesMs.map((t) => {
    envelope.at(t);
    return [envelope.low, envelope.high] as const;
  });
  return { lowC: ends.map(([low]) => low), highC: ends.map(([, high]) => high) };
}
