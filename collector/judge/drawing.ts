import { foldLoad, gridOfLoad } from '@setwell/shared-models/score/fold';
import { gridTimeMs } from '@setwell/shared-models/score/grid';
import { parseReadings } from '@setwell/shared-models/score/readings';
import { resultOf } from '@setwell/shared-models/score/score';
import type { LoadTrace, ScoreInput } from '@setwell/shared-models/score/shape';
import {
  drawZone,
  measured,
  stepsSeen,
  USUAL_TIMES,
  type TraceView,
} from '@setwell/shared-models/score/trace';
import { judgedWindow } from '@setwell/shared-models/score/window';
import type { ZoneRuns } from '@setwell/shared-models/score/zone-runs';

/** Told so often at most [share]: a hundred times a picture. */
const toldEvery = 0.01;

/**
 * The pictures of a load as `trace` of the model draws them, to the bit, telling how far it is: the model's
 * text is fixed, and says nothing while it computes.
 *
 * @param told hears which share is done, rising to 1
 * @throws RangeError as `score`
 */
export function drawTrace(
  input: ScoreInput,
  readingsCsv: string,
  view: TraceView,
  told: (share: number) => void,
): LoadTrace {
  const readings = parseReadings(readingsCsv);
  const grid = gridOfLoad(input);
  // Twice through each zone: once for what decides, once for what it did.
  const step = counted(2 * input.zones.length * (grid.steps + 1), told);
  const judged = resultOf(input, foldLoad(input, readings, step));
  const { worst, places, unit, quality } = judged;
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
  const [first, last] = stepsSeen(grid, view);
  const every = Math.max(1, Math.ceil((last - first + 1) / ((view.points ?? USUAL_TIMES) - 1)));
  const watch = (zone: ZoneRuns, steps: number) => {
    step();
    if (zone.zone.id !== zoneId || steps < first || steps > last) return;
    if ((steps - first) % every !== 0 && steps !== last) return;
    drawn.timesMs.push(gridTimeMs(grid, steps));
    drawZone(drawn, zone, glueLine, perLawUnit);
  };
  const { histories } = foldLoad(input, readings, watch);
  drawn.measuredC = measured(input, drawn.timesMs, histories);
  told(1);
  return drawn;
}

/** Counts steps, and tells their share each time it is a hundredth more. */
function counted(all: number, told: (share: number) => void): () => void {
  let gone = 0;
  let next = toldEvery;
  return () => {
    gone += 1;
    if (gone / all < next || gone >= all) return;
    next = gone / all + toldEvery;
    told(gone / all);
  };
}
