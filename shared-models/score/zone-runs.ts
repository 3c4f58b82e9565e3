import { BeltCourse, BeltWay } from './belt.ts';
import { coldToolStart } from './cold-tool.ts';
import { doubtsOf, move, unmoved, weightOf, type Doubt, type Moved } from './doubts.ts';
import { Envelope, ratesOf, type FaceCourse } from './envelope.ts';
import type { RunLaws } from './laws.ts';
import { creditOf, gridStartMs, sameCredit } from './marks.ts';
import { pieceOf, type Piece } from './piece.ts';
import type { PointHistory } from './point-history.ts';
import { Run, type FacePair } from './run.ts';
import type { BudgetTerm, CureInterval, ScoredZone, ScoreInput, Weights } from './shape.ts';
import { measuredStart, type StartRange } from './start.ts';

/** A zone with its runs, as far as the grid has gone. */
export interface ZoneRuns {
  zone: ScoredZone;
  piece: Piece;
  upper: FaceCourse;
  lower: FaceCourse;
  start: StartRange;
  doubts: Doubt[];
  terms: Weights['terms'];
  nominal: Run;
  /** Every input moved against cure, boards slower and boards faster: which is worse turns with the flow. */
  lows: Run[];
  highs: Run[];
  /** Nothing moved but the faces, to the ends of their envelopes: they price the gaps. */
  gapLow: Run;
  gapHigh: Run;
  /** Nothing moved but the marks, to their worse ends; null where that changes nothing. */
  marksLow: Run | null;
  marksHigh: Run | null;
  /** Nothing moved but the law, to its safe side outside its range; null where it has none. */
  rangeLow: Run | null;
  rangeHigh: Run | null;
  ceilingC: number;
}

type Histories = ReadonlyMap<string, PointHistory>;

/** Null where nothing can be judged: the recipe has no lay-up for the zone. */
export function openZone(
  input: ScoreInput,
  zone: ScoredZone,
  histories: Histories,
  laws: RunLaws,
  terms: Weights['terms'],
  startMs: number,
): ZoneRuns | null {
  const piece = pieceOf(input, zone);
  if (piece === null) return null;
  const [upper, lower] = facesOf(input, zone, piece, histories);
  upper.at(startMs);
  lower.at(startMs);
  const start = measuredStart(input, piece, histories);
  const tool = coldToolStart(input, zone.id, piece, start.nominalC);
  const doubts = doubtsOf(input, zone, piece, start, laws.ofConstants);
  const lawOf = { [-1]: laws.low, [0]: laws.nominal, [1]: laws.high };
  const open = (law: End, credit: End, path: PathEnd, moved: Moved) =>
    new Run(
      {
        piece,
        law: lawOf[law],
        lawFactor: moved.lawFactor,
        order: path === 'nominal' ? 2 : 1,
        variation: { ...moved, openFaceLoses: law < 0 },
        shiftK: moved.shiftK,
        initialC: start[`${path}C`] + moved.startShiftK,
        coldToolC: tool?.[`${path}C`] ?? null,
        waterShare: moved.waterShare,
        credit: creditOf(input, credit),
      },
      pairOf(upper, lower, path),
    );
  const pair = (direction: -1 | 1, path: PathEnd) => {
    const weight = (term: BudgetTerm) => weightOf(terms, term, direction);
    return ([-1, 1] as const).map((flow) =>
      open(direction, direction, path, move(piece, doubts, weight, direction, flow)),
    );
  };
  const plain = unmoved(piece);
  const marksMoved = (end: End) => !sameCredit(creditOf(input, end), creditOf(input, 0));
  const { safe } = laws;
  return {
    zone,
    piece,
    upper,
    lower,
    start,
    doubts,
    terms,
    nominal: open(0, 0, 'nominal', plain),
    lows: pair(-1, 'low'),
    highs: pair(1, 'high'),
    gapLow: open(0, 0, 'low', plain),
    gapHigh: open(0, 0, 'high', plain),
    marksLow: marksMoved(-1) ? open(0, -1, 'nominal', plain) : null,
    marksHigh: marksMoved(1) ? open(0, 1, 'nominal', plain) : null,
    rangeLow: safe.low ? open(-1, 0, 'nominal', plain) : null,
    rangeHigh: safe.high ? open(1, 0, 'nominal', plain) : null,
    ceilingC: laws.ceilingC,
  };
}

/** The same runs, to go on with while the first stay where they are. */
export function copyZone(zone: ZoneRuns): ZoneRuns {
  return {
    ...zone,
    nominal: zone.nominal.copy(),
    lows: zone.lows.map((run) => run.copy()),
    highs: zone.highs.map((run) => run.copy()),
    gapLow: zone.gapLow.copy(),
    gapHigh: zone.gapHigh.copy(),
    marksLow: zone.marksLow?.copy() ?? null,
    marksHigh: zone.marksHigh?.copy() ?? null,
    rangeLow: zone.rangeLow?.copy() ?? null,
    rangeHigh: zone.rangeHigh?.copy() ?? null,
  };
}

/** Which end something is moved to; 0: not at all. */
type End = -1 | 0 | 1;

type PathEnd = 'low' | 'nominal' | 'high';

/** Most likely, a face that was never read does as the other one. */
function pairOf(upper: FaceCourse, lower: FaceCourse, path: PathEnd): FacePair {
  if (path !== 'nominal') return { upperC: upper[path], lowerC: lower[path] };
  return {
    upperC: upper.neverRead ? lower.nominal : upper.nominal,
    lowerC: lower.neverRead ? upper.nominal : lower.nominal,
  };
}

/** A face of it was never read: nothing there can be proven. */
export function isBlind({ upper, lower }: ZoneRuns): boolean {
  return upper.neverRead || lower.neverRead;
}

/** A point never read, or none: anything the station can be, and never the reason of a pass. */
function facesOf(
  input: ScoreInput,
  zone: ScoredZone,
  piece: Piece,
  histories: Histories,
): [FaceCourse, FaceCourse] {
  const { surroundingsMinC, supplyMaxC } = input.station;
  const unread: FaceCourse = {
    low: surroundingsMinC,
    nominal: 0.5 * (surroundingsMinC + supplyMaxC),
    high: supplyMaxC,
    neverRead: true,
    apartK: 0,
    at: () => undefined,
  };
  const still: FaceCourse = {
    low: surroundingsMinC,
    nominal: surroundingsMinC,
    high: surroundingsMinC,
    neverRead: false,
    apartK: 0,
    at: () => undefined,
  };
  const courseOf = (point: string | null): FaceCourse => {
    const history = point === null ? undefined : histories.get(point);
    const sensor = point === null ? undefined : input.sensors[point];
    if (history === undefined || sensor === undefined) return unread;
    return new Envelope(history, ratesOf(input, sensor));
  };
  if (zone.air !== null) {
    const air = courseOf(zone.air);
    return [air, air];
  }
  if (zone.belt !== undefined) {
    const { belt } = zone;
    const history = histories.get(belt.speed);
    const signal = input.signals?.[belt.speed];
    if (history === undefined || signal === undefined) return [unread, unread];
    const way = new BeltWay(history, signal, belt.everyS, gridStartMs(input));
    const airs = belt.zones.map((each) => courseOf(each.air));
    const air = new BeltCourse(belt, airs, way);
    return [air, air];
  }
  return [
    piece.openFace === 'upper' ? still : courseOf(zone.upper),
    piece.openFace === 'lower' ? still : courseOf(zone.lower),
  ];
}

/** Both faces at one time, at the ends of what they may have been and most likely. */
export interface FaceEnds {
  low: FacePair;
  nominal: FacePair;
  high: FacePair;
}

export function facesAt({ upper, lower }: ZoneRuns, tMs: number): FaceEnds {
  upper.at(tMs);
  lower.at(tMs);
  return {
    low: pairOf(upper, lower, 'low'),
    nominal: pairOf(upper, lower, 'nominal'),
    high: pairOf(upper, lower, 'high'),
  };
}

/**
 * Goes one grid step with all runs.
 *
 * @param from its faces at the step's start
 * @returns its faces at the step's end, where the next one starts
 */
export function stepZone(zone: ZoneRuns, fromMs: number, toMs: number, from: FaceEnds): FaceEnds {
  const to = facesAt(zone, toMs);
  const barred = stepRuns(zone, fromMs, toMs, from, to);
  zone.gapLow.step(fromMs, toMs, from.low, to.low, null);
  zone.gapHigh.step(fromMs, toMs, from.high, to.high, null);
  const { marksLow, marksHigh, rangeLow, rangeHigh } = zone;
  for (const run of [marksLow, marksHigh, rangeHigh]) {
    run?.step(fromMs, toMs, from.nominal, to.nominal, null);
  }
  rangeLow?.step(fromMs, toMs, from.nominal, to.nominal, barred);
  return to;
}

/**
 * Goes with the runs of the interval. High first: where it passes the ceiling, low earns nothing.
 *
 * @returns the spots where it did; null: there is no ceiling
 */
export function stepRuns(
  zone: ZoneRuns,
  fromMs: number,
  toMs: number,
  from: FaceEnds,
  to: FaceEnds,
): Uint8Array | null {
  const barred = zone.ceilingC < Infinity ? new Uint8Array(zone.piece.spots.length) : null;
  for (const run of zone.highs) {
    if (barred !== null) bar(barred, run, zone.ceilingC);
    run.step(fromMs, toMs, from.high, to.high, null);
    if (barred !== null) bar(barred, run, zone.ceilingC);
  }
  for (const run of zone.lows) run.step(fromMs, toMs, from.low, to.low, barred);
  zone.nominal.step(fromMs, toMs, from.nominal, to.nominal, null);
  return barred;
}

function bar(barred: Uint8Array, run: Run, ceilingC: number): void {
  for (let spot = 0; spot < barred.length; spot += 1) {
    if (run.spotC(spot) > ceilingC) barred[spot] = 1;
  }
}

/** Interval of a spot, in the law's unit. */
export function intervalOf({ nominal, lows, highs }: ZoneRuns, spot: number): CureInterval {
  return around(nominal, lows, highs, (run) => run.value(spot));
}

/** Interval of what a spot earned before pressure, in the law's unit. */
export function precureOf({ nominal, lows, highs }: ZoneRuns, spot: number): CureInterval {
  return around(nominal, lows, highs, (run) => run.precure(spot));
}

function around(
  run: Run,
  lows: readonly Run[],
  highs: readonly Run[],
  of: (run: Run) => number,
): CureInterval {
  const nominal = of(run);
  let low = nominal;
  let high = nominal;
  for (const each of lows) low = Math.min(low, of(each));
  for (const each of highs) high = Math.max(high, of(each));
  return { low, nominal, high };
}
