import { atClock, dayMs, dayOf, hourMs, hourOf, isWorkingDay, minuteMs } from './calendar.ts';

/** Rooms, stores and oven air: slow enough to follow from the hour alone. */

/** Warmest in the afternoon, coldest before sunrise. */
function swing(ms: number, meanC: number, byK: number): number {
  return meanC + byK * Math.cos((2 * Math.PI * (hourOf(ms) - 15)) / 24);
}

/** Hall with the presses [°C]. */
export function hallC(ms: number): number {
  return swing(ms, isWorkingDay(dayOf(ms)) ? 20.5 : 18, 1.5);
}

const shelvesC: Record<string, { meanC: number; byK: number }> = {
  'fr-1': { meanC: 18, byK: 0.4 },
  // By the wall it is warm; by the gate less so.
  'ra-1': { meanC: 21, byK: 0.8 },
  'ra-2': { meanC: 18.2, byK: 0.9 },
  's1-1t': { meanC: 21.8, byK: 0.6 },
  's1-1b': { meanC: 20.4, byK: 0.6 },
  's1-2t': { meanC: 21.2, byK: 0.6 },
  's1-2b': { meanC: 19.9, byK: 0.6 },
  // Bay 3 lies on the outer wall.
  's1-3t': { meanC: 17.8, byK: 0.9 },
  's1-3b': { meanC: 16.6, byK: 0.9 },
};

/** A weekend without heating costs so much at the outer wall [K], and so long it takes to get there [h]. */
const weekendK = -1.5;
const weekendLagH = 6;

/** Air of a rack or store [°C]. */
export function shelfC(point: string, ms: number): number {
  const shelf = shelvesC[point];
  if (!shelf) throw new RangeError(`no room has a point ${point}`);
  const cold = shelf.meanC < 18 ? weekendK * weekendShare(ms) : 0;
  return swing(ms, shelf.meanC, shelf.byK) + cold;
}

/** 0 on working days … 1 at the weekend, with a slope after each midnight between them. */
function weekendShare(ms: number): number {
  const [today, yesterday] = [ms, ms - dayMs].map((at) => (isWorkingDay(dayOf(at)) ? 0 : 1));
  const share = Math.min(1, hourOf(ms) / weekendLagH);
  return (yesterday ?? 0) + ((today ?? 0) - (yesterday ?? 0)) * share;
}

export const roomPoints = Object.keys(shelvesC);

/** A joint in the clamps by the wall follows its room [°C]. */
export function sampleJointC(ms: number): number {
  return shelfC('ra-1', ms - 25 * minuteMs);
}

/** The bench is worked at in both shifts: a hot plate, and a lamp for a quarter of each minute's work. */
const bench = { plateC: 80, warmsMs: 6 * minuteMs, lampMwPerCm2: 92, lampEveryMin: 7 };

/** Hot plate of the bench [°C]. */
export function benchPlateC(ms: number): number {
  const day = dayOf(ms);
  const hall = hallC(ms);
  const onMs = ms - atClock(day, 6);
  const offMs = ms - atClock(day, 22);
  if (!isWorkingDay(day) || onMs < 0) return hall;
  if (offMs < 0) return hall + (bench.plateC - hall) * (1 - Math.exp(-onMs / bench.warmsMs));
  return hall + (bench.plateC - hall) * Math.exp(-offMs / (4 * bench.warmsMs));
}

/** Its lamp box [mW/cm²]. */
export function lampMwPerCm2(ms: number): number {
  const on = pressesHeated(ms) && Math.floor(ms / minuteMs) % bench.lampEveryMin === 0;
  return on ? bench.lampMwPerCm2 : 0;
}

/** Air in its lamp box, which the lamp warms while it is worked with [°C]. */
export function lampBoxC(ms: number): number {
  return hallC(ms) + (pressesHeated(ms) ? 6 : 0);
}

const ovenSetC: Record<string, number> = {
  'o1-z0': 27,
  'o1-z1': 59.1,
  'o1-z2': 59.7,
  'o1-z3': 59.4,
  'o1-z4': 31,
};

export const ovenPoints = Object.keys(ovenSetC);

/** The oven warms up before the first shift and is shut down after the second. */
const ovenOnH = 5.5;
const ovenOffH = 22;
const ovenLagMs = 9 * minuteMs;
const ovenCoolsMs = 40 * minuteMs;

/** Air of an oven zone [°C]. */
export function ovenC(point: string, ms: number): number {
  const setC = ovenSetC[point];
  if (setC === undefined) throw new RangeError(`the oven has no point ${point}`);
  const coldC = hallC(ms);
  return coldC + (setC - coldC) * warmth(ms) + 0.3 * Math.sin(ms / (4 * minuteMs));
}

/** 0 cold … 1 warmed through. */
function warmth(ms: number): number {
  const day = dayOf(ms);
  if (!isWorkingDay(day)) return 0;
  const sinceOnMs = ms - atClock(day, ovenOnH);
  if (sinceOnMs < 0) return 0;
  const sinceOffMs = ms - atClock(day, ovenOffH);
  if (sinceOffMs < 0) return 1 - Math.exp(-sinceOnMs / ovenLagMs);
  return Math.exp(-sinceOffMs / ovenCoolsMs);
}

/** Whether the presses are heated: from an hour before the first shift, on Mondays from two, to the last closing. */
export function pressesHeated(ms: number): boolean {
  const day = dayOf(ms);
  if (!isWorkingDay(day)) return false;
  const monday = !isWorkingDay(dayOf(ms - 24 * hourMs));
  return ms >= atClock(day, monday ? 4.5 : 5) && ms < atClock(day, 22);
}
