import type { Layer } from '../plant/recipe-schema.ts';
import { Conduction, type FaceContacts } from './conduction.ts';
import { crossingTimeS, cutSlab, nodeAt, type Slab } from './slab.ts';

/** Temperatures of both faces, linear between the times. */
export interface FaceCourse {
  /** Ascending [s]. */
  timesS: readonly number[];
  upperC: readonly number[];
  lowerC: readonly number[];
}

export interface Course {
  /** One row a time, one value a position [°C]. */
  tempC: number[][];
  /** Estimate of the greatest error [K]. */
  errorK: number;
}

/** Accuracy asked for [K]; the promise of the `heat` command is 0.02 K. */
const WANTED_K = 0.005;

/** Pieces and steps of the first, coarse pass, as shares of the lay-up and of its crossing time. */
const FIRST_PIECE_SHARE = 1 / 24;
const FIRST_STEP_SHARE = 1 / 200;

/** The jump at the start is met in steps that begin so many times smaller and double, four at a time. */
const FIRST_SHRINK = 1 / 256;
const STEPS_A_SIZE = 4;

/** Node steps of one pass; about ten seconds of computing, and far beyond any press cycle. */
const MOST_WORK = 2e9;

/**
 * Temperatures at given depths and times of a lay-up between two faces, to a known error.
 *
 * The lay-up is run on a grid and on one twice as fine in space and time. Both are of second order, so
 * that a third of their difference is the finer one's error; it is taken off, and the grid is halved
 * until that third is small at every value asked for.
 *
 * @param layers from the top
 * @param startC one temperature throughout [°C]
 * @param positionsMm below the upper face of the first layer, inside the lay-up [mm]
 * @param timesS ascending, inside the faces' own [s]
 * @throws RangeError where the accuracy cannot be had with a reasonable amount of computing
 * @source Richardson's extrapolation: Hairer, Nørsett & Wanner, Solving Ordinary Differential
 * Equations I, II.4
 */
export function temperatureCourse(
  layers: readonly Layer[],
  contacts: FaceContacts,
  startC: number,
  faces: FaceCourse,
  positionsMm: readonly number[],
  timesS: readonly number[],
): Course {
  let pieceShare = FIRST_PIECE_SHARE;
  let stepS = crossingTimeS(layers) * FIRST_STEP_SHARE;
  const pass = (): number[][] => {
    const slab = cutSlab(layers, pieceShare, positionsMm);
    refuseWork(slab, faces, stepS);
    return onePass(slab, contacts, startC, faces, positionsMm, timesS, stepS);
  };
  let coarse = pass();
  for (;;) {
    pieceShare /= 2;
    stepS /= 2;
    const fine = pass();
    const course = extrapolate(coarse, fine);
    if (course.errorK <= WANTED_K) return course;
    coarse = fine;
  }
}

function extrapolate(coarse: number[][], fine: number[][]): Course {
  let errorK = 0;
  const tempC = fine.map((row, time) =>
    row.map((value, position) => {
      const third = (value - coarse[time][position]) / 3;
      errorK = Math.max(errorK, Math.abs(third));
      return value + third;
    }),
  );
  return { tempC, errorK };
}

function refuseWork(slab: Slab, { timesS }: FaceCourse, stepS: number): void {
  const spanS = timesS[timesS.length - 1] - timesS[0];
  const steps = spanS / stepS + timesS.length;
  if (steps * slab.depthsMm.length <= MOST_WORK) return;
  throw new RangeError(
    `0.02 K would take ${Math.ceil(steps)} steps of ${slab.depthsMm.length} nodes; shorten the faces' times or ask at fewer of them`,
  );
}

function onePass(
  slab: Slab,
  contacts: FaceContacts,
  startC: number,
  faces: FaceCourse,
  positionsMm: readonly number[],
  timesS: readonly number[],
  longestS: number,
): number[][] {
  const nodes = positionsMm.map((mm) => nodeAt(slab, mm));
  const tempC = new Float64Array(slab.depthsMm.length).fill(startC);
  const bodies = new Map<number, Conduction>();
  const rows: number[][] = [];
  const take = (): void => void rows.push(nodes.map((node) => tempC[node]));
  let asked = 0;
  if (timesS[0] === faces.timesS[0]) {
    take();
    asked = 1;
  }
  let shrink = FIRST_SHRINK;
  let steps = 0;
  forEachStretch(faces, timesS, asked, (fromS, toS, at, isAsked) => {
    let doneS = 0;
    const wholeS = toS - fromS;
    while (doneS < wholeS) {
      const leftS = wholeS - doneS;
      const count = Math.ceil(leftS / (longestS * shrink) - 1e-9);
      const stepS = leftS / count;
      const many = shrink < 1 ? Math.min(count, STEPS_A_SIZE - steps) : count;
      let body = bodies.get(stepS);
      if (body === undefined) {
        body = new Conduction(slab, contacts, stepS, 2);
        if (bodies.size > 1000) bodies.clear();
        bodies.set(stepS, body);
      }
      for (let step = 1; step <= many; step += 1) {
        const from = at((doneS + (step - 1) * stepS) / wholeS);
        const to = at((doneS + step * stepS) / wholeS);
        body.step(tempC, from.upperC, to.upperC, from.lowerC, to.lowerC);
      }
      doneS = many === count ? wholeS : doneS + many * stepS;
      steps += many;
      if (steps >= STEPS_A_SIZE && shrink < 1) {
        shrink *= 2;
        steps = 0;
      }
    }
    if (isAsked) take();
  });
  return rows;
}

type AtShare = (share: number) => { upperC: number; lowerC: number };

/** Stretches between the faces' own times and the times asked for: both faces are linear in each. */
function forEachStretch(
  faces: FaceCourse,
  timesS: readonly number[],
  firstAsked: number,
  visit: (fromS: number, toS: number, at: AtShare, isAsked: boolean) => void,
): void {
  let asked = firstAsked;
  let fromS = faces.timesS[0];
  for (let row = 1; row < faces.timesS.length; row += 1) {
    const rowFromS = faces.timesS[row - 1];
    const rowToS = faces.timesS[row];
    const linear = (values: readonly number[], s: number): number =>
      values[row - 1] + ((values[row] - values[row - 1]) * (s - rowFromS)) / (rowToS - rowFromS);
    while (fromS < rowToS) {
      const next = timesS[asked];
      const toS = next !== undefined && next < rowToS ? next : rowToS;
      const startS = fromS;
      const at: AtShare = (share) => {
        const s = startS + share * (toS - startS);
        return { upperC: linear(faces.upperC, s), lowerC: linear(faces.lowerC, s) };
      };
      const isAsked = next === toS;
      if (toS > fromS) visit(fromS, toS, at, isAsked);
      if (isAsked) asked += 1;
      fromS = toS;
    }
  }
}
