import { atClock, firstRecordMs, isWorkingDay, minuteMs } from './calendar.ts';
import { instruments, type Instrument } from './instruments.ts';
import { pastDays, pastPlate } from './past-plates.ts';
import { Press, type PressNature } from './press.ts';
import { pressOne, pressTwo, setC } from './presses.ts';
import { hallC } from './rooms.ts';
import { loadsOfDay, type PlannedLoad } from './schedule.ts';

/** Physics and readings come on this beat [s]. */
const everyS = 10;
/** A board is carried on in such steps: fine enough for readings so far apart [s]. */
const boardStepS = 5;
/**
 * The works' old logger kept the faces of a heat-up and of every fourth closing in full, what drives them
 * less often, and gauge and switch whenever the ram moved.
 */
const inFull = {
  everyClosing: 4,
  everyS: 20,
  drivesEveryS: 40,
  heatUpEveryS: 60,
  coolsEveryS: 120,
  beforeMin: 5,
  afterMin: 6,
};
/** Between them it said now and then that it was alive [s]. */
const aliveEveryS = 600;
/** The logger's files follow one another so often: what several points said in it comes together [ms]. */
const sliceMs = 5 * minuteMs;
/** And so many come in together: two hours, about a commit of the journal. */
const slicesAtOnce = 24;

/** Readings of one point in one of the logger's files, as one message. */
export interface PastMessage {
  topic: string;
  payload: string;
}

/** What the logger kept of one working day: what comes in together, in order. */
export interface PastDay {
  day: number;
  commits: PastMessage[][];
}

/** The six weeks, day by day: nothing but the seed goes in. */
export function* pastReadings(seed: number): Generator<PastDay> {
  for (let day = pastDays.first; day <= pastDays.last; day++) {
    if (!isWorkingDay(day)) continue;
    const slices = slicesOf(readingsOf(day, seed));
    const commits: PastMessage[][] = [];
    for (let from = 0; from < slices.length; from += slicesAtOnce) {
      commits.push(slices.slice(from, from + slicesAtOnce).flat());
    }
    yield { day, commits };
  }
}

interface Told {
  t: number;
  v: number;
}

/** One message a topic and slice, as they come in together; gauges and switches first. */
function slicesOf(told: ReadonlyMap<string, Told[]>): PastMessage[][] {
  const slices = new Map<number, PastMessage[]>();
  const edgesFirst = [...told].sort(([a], [b]) => Number(isRam(b)) - Number(isRam(a)));
  for (const [topic, readings] of edgesFirst) {
    const own = new Map<number, Told[]>();
    for (const reading of readings) {
      const slice = Math.floor(reading.t / sliceMs);
      const together = own.get(slice);
      if (together === undefined) own.set(slice, [reading]);
      else together.push(reading);
    }
    for (const [slice, part] of own) {
      const message = { topic, payload: JSON.stringify(part) };
      slices.set(slice, [...(slices.get(slice) ?? []), message]);
    }
  }
  return [...slices].sort(([a], [b]) => a - b).map(([, messages]) => messages);
}

/** Readings of one day by topic, each by time. */
function readingsOf(day: number, seed: number): Map<string, Told[]> {
  const told = new Map<string, Told[]>();
  for (const nature of [pressOne, pressTwo]) pressDay(nature, day, seed, told);
  return told;
}

function pressDay(nature: PressNature, day: number, seed: number, told: Map<string, Told[]>): void {
  const fromMs = atClock(day, 4.25);
  const untilMs = Math.min(atClock(day, 23.25), firstRecordMs);
  const plates = Object.fromEntries(
    Object.entries(nature.plates).map(([point, plate]) => {
      return [point, pastPlate(plate, point, day, seed)];
    }),
  );
  const press = new Press({ ...nature, plates }, hallC(fromMs), seed, boardStepS);
  const { station } = nature;
  const own = instruments([press], { seed, pressEveryS: everyS }).filter(
    (instrument) => instrument.station === station && !/-(sup|ret|\d[lr]c)$/.test(instrument.point),
  );
  const loads = loadsOfDay(day, seed).filter((load) => load.station === station);
  const starts = [...new Set(loads.map(({ startMs }) => startMs))].sort((a, b) => a - b);
  for (let ms = fromMs; ms < untilMs; ms += everyS * 1000) {
    press.advance(everyS, setC(nature, ms), hallC(ms));
    const edge = carryOut(press, loads, ms);
    const alive = ms % (aliveEveryS * 1000) === 0;
    const everyFaceS = inFullEveryS(ms, starts);
    const everyDriveS = Math.max(everyFaceS, inFull.drivesEveryS);
    for (const instrument of own) {
      const { point } = instrument;
      const fullS = point in nature.plates ? everyFaceS : everyDriveS;
      const takes = (ms / 1000) % fullS === 0 || (edge && isRam(point));
      if (takes || alive) say(instrument, ms, told, station);
    }
  }
}

/** Lays boards in and takes them out. @returns whether the ram has moved */
function carryOut(press: Press, loads: readonly PlannedLoad[], ms: number): boolean {
  const within = (atMs: number) => atMs > ms - everyS * 1000 && atMs <= ms;
  const inNow = loads.filter(({ startMs }) => within(startMs));
  const outNow = loads.filter(({ endMs }) => within(endMs));
  for (const load of outNow) press.open(load.load);
  for (const load of inNow) press.close(load, hallC(ms));
  return inNow.length + outNow.length > 0;
}

/** How often the old logger kept everything at this moment [s]; Infinity: not at all. */
function inFullEveryS(ms: number, starts: readonly number[]): number {
  const first = starts[0] ?? Infinity;
  if (ms < first) return inFull.heatUpEveryS;
  const last = starts.at(-1) ?? 0;
  if (ms > last + 60 * minuteMs) return inFull.coolsEveryS;
  const isIn = starts.some(
    (startMs, n) =>
      n % inFull.everyClosing === 0 &&
      ms > startMs - inFull.beforeMin * minuteMs &&
      ms < startMs + inFull.afterMin * minuteMs,
  );
  return isIn ? inFull.everyS : Infinity;
}

/** Gauge and switch, which tell that the ram has moved. */
function isRam(point: string): boolean {
  return /bar|closed/.test(point);
}

function say(instrument: Instrument, ms: number, told: Map<string, Told[]>, station: string): void {
  const v = instrument.read(ms);
  if (v === null) return;
  const topic = `plant/${station}/${instrument.point}`;
  const readings = told.get(topic);
  if (readings === undefined) told.set(topic, [{ t: ms, v }]);
  else readings.push({ t: ms, v });
}
