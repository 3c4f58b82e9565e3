import { foldLoad, gridOfLoad, pointsOf, type LoadFold } from './fold.ts';
import { gridTimeMs } from './grid.ts';
import { parseReadings } from './readings.ts';
import { scoreReadings } from './score.ts';
import type { LoadTrace, ScoreInput } from './shape.ts';
import { judgedWindow } from './window.ts';
import { intervalOf, type ZoneRuns } from './zone-runs.ts';

/** A picture needs no more: one time a few pixels. */
const MOST_TIMES = 300;

/**
 * What a load's faces, lines and sum did, at no more than 300 times, for screen and print.
 *
 * The section and the growth are those of the place that decides.
 *
 * @throws RangeError as `score`
 */
export function trace(input: ScoreInput, readingsCsv: string): LoadTrace {
  const readings = parseReadings(readingsCsv);
  const { worst, unit, quality } = scoreReadings(input, readings);
  const { perLawUnit } = judgedWindow(input.recipe, unit);
  const glueLine = worst?.glueLine ?? null;
  const drawn: LoadTrace = {
    timesMs: [],
    measuredC: [],
    lines: [],
    section: null,
    cure: { zone: worst?.zone ?? '', glueLine, low: [], nominal: [], high: [] },
    gaps: quality.gaps,
  };
  const grid = gridOfLoad(input);
  const every = Math.max(1, Math.ceil((grid.steps + 1) / (MOST_TIMES - 1)));
  const watch = (zone: ZoneRuns, steps: number) => {
    if (zone.zone.id !== worst?.zone || (steps % every !== 0 && steps !== grid.steps)) return;
    drawn.timesMs.push(gridTimeMs(grid, steps));
    drawZone(drawn, zone, glueLine, perLawUnit);
  };
  const { histories } = foldLoad(input, readings, watch);
  drawn.measuredC = measured(input, drawn.timesMs, histories);
  return drawn;
}

function drawZone(
  drawn: LoadTrace,
  zone: ZoneRuns,
  glueLine: number | null,
  perLawUnit: number,
): void {
  const { spots, slab } = zone.piece;
  const id = zone.zone.id;
  if (drawn.lines.length === 0) {
    drawn.lines = spots.map((spot) => ({
      zone: id,
      glueLine: spot.glueLine,
      lowC: [],
      nominalC: [],
      highC: [],
    }));
    if (slab !== null) drawn.section = { zone: id, depthsMm: slab.depthsMm, tempC: [] };
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
  drawn.section?.tempC.push([...zone.nominal.tempC]);
}

/** The last good reading at each time; null where the point was silent. */
function measured(
  input: ScoreInput,
  timesMs: readonly number[],
  histories: LoadFold['histories'],
): LoadTrace['measuredC'] {
  return pointsOf(input).flatMap((point) => {
    const zone = input.zones.find((z) => [z.upper, z.lower, z.air].includes(point));
    const history = histories.get(point);
    if (zone === undefined || history === undefined) return [];
    const face = zone.upper === point ? 'upper' : zone.lower === point ? 'lower' : 'air';
    const oldMs = 3 * (history.spacingMs ?? 0) + 5000;
    let next = 0;
    const valuesC = timesMs.map((t) => {
      while (next < history.timesMs.length && history.timesMs[next] <= t) next += 1;
      const known = next > 0 && t - history.timesMs[next - 1] <= oldMs;
      return known ? history.valuesC[next - 1] : null;
    });
    return [{ point, zone: zone.id, face, valuesC }];
  });
}
