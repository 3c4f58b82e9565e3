import { atClock, firstRecordMs, isWorkingDay, minuteMs } from './calendar.ts';
import { instruments, type Instrument } from './instruments.ts';
import { heaterChanged, pastDays, pastPlate } from './past-plates.ts';
import { Press, type PressNature } from './press.ts';
import { pressOne, pressTwo } from './presses.ts';
import { hallC, pressesHeated } from './rooms.ts';
import { loadsOfDay, type PlannedLoad } from './schedule.ts';

/** Physics and readings come on this beat [s]. */
const everyS = 10;
/** The works' old logger kept a heat-up and every fourth closing in full, and the gauge always. */
const inFull = { everyClosing: 4, everyS: 20, heatUpEveryS: 30, beforeMin: 5, afterMin: 6 };
/** Between them it said now and then that it was alive [s]. */
const aliveEveryS = 600;
/** The logger's files follow one another so often: what several points said in it comes together [ms]. */
const sliceMs = 5 * minuteMs;
/** And so many come in together: an hour. */
const slicesAtOnce = 12;

export const pastStartMs = atClock(pastDays.first, 3);

/** Invented person of the demo's ledger: maintenance. */
const maintenance = 'p-21';

/** One message as a broker would hand it over. */
interface Arrival {
  topic: string;
  payload: Buffer;
  retained: boolean;
  queued: boolean;
  act: string | null;
}

interface JobEntry {
  kind: 'work-planned' | 'work-done';
  by: string;
  about: { station: string; work: string };
  body: object;
  act: string;
}

/** Under whose name they come in. */
const loggerName = 'old logger';

/** What takes the readings, and what people enter beside them. */
interface Taker {
  accept(arrivals: Arrival[], by: string): unknown;
  append(entries: JobEntry[]): unknown;
  step(): void;
}

export interface SixWeeks {
  collector: Taker;
  clock: { nowMs(): number; advance(durationMs: number): void };
  seed: number;
  tell?: (share: number) => void;
}

/**
 * Hands the collector what the works' old logger kept of six weeks: readings of the two presses, day by
 * day, from before anybody named a load. They go the way of every reading that is brought in by hand; only
 * the clock is stepped a day at a time.
 */
export function writeSixWeeks({ collector, clock, seed, tell }: SixWeeks): void {
  for (let day = pastDays.first; day <= pastDays.last; day++) {
    clock.advance(Math.min(atClock(day + 1, 0), firstRecordMs) - clock.nowMs());
    if (!isWorkingDay(day)) continue;
    recordWork(collector, clock.nowMs());
    const slices = slicesOf(readingsOf(day, seed));
    for (let from = 0; from < slices.length; from += slicesAtOnce) {
      collector.accept(slices.slice(from, from + slicesAtOnce).flat(), loggerName);
    }
    collector.step();
    tell?.((day - pastDays.first) / (pastDays.last - pastDays.first));
  }
}

interface Told {
  t: number;
  v: number;
}

/** One message a topic and slice, as they come in together; gauges and switches first. */
function slicesOf(told: ReadonlyMap<string, Told[]>): Arrival[][] {
  const slices = new Map<number, Arrival[]>();
  const edgesFirst = [...told].sort(
    ([a], [b]) => Number(/bar|closed/.test(b)) - Number(/bar|closed/.test(a)),
  );
  for (const [topic, readings] of edgesFirst) {
    const own = new Map<number, Told[]>();
    for (const reading of readings) {
      const slice = Math.floor(reading.t / sliceMs);
      own.set(slice, [...(own.get(slice) ?? []), reading]);
    }
    for (const [slice, part] of own) {
      const payload = Buffer.from(JSON.stringify(part));
      const arrival = { retained: false, queued: false, act: null, topic, payload };
      slices.set(slice, [...(slices.get(slice) ?? []), arrival]);
    }
  }
  return [...slices].sort(([a], [b]) => a - b).map(([, arrivals]) => arrivals);
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
  const press = new Press({ ...nature, plates }, hallC(fromMs), seed);
  const { station } = nature;
  const own = instruments([press], { seed, pressEveryS: everyS }).filter(
    (instrument) => instrument.station === station && !/-(sup|ret)$/.test(instrument.point),
  );
  const loads = loadsOfDay(day, seed).filter((load) => load.station === station);
  const starts = [...new Set(loads.map(({ startMs }) => startMs))].sort((a, b) => a - b);
  for (let ms = fromMs; ms < untilMs; ms += everyS * 1000) {
    press.advance(everyS, pressesHeated(ms), hallC(ms));
    const edge = carryOut(press, loads, ms);
    const takesAll = isInFull(ms, fromMs, starts);
    for (const instrument of own) {
      if (edge || takesAll || ms % (aliveEveryS * 1000) === 0) say(instrument, ms, told, station);
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

/** Whether the old logger kept everything of this moment. */
function isInFull(ms: number, fromMs: number, starts: readonly number[]): boolean {
  const second = Math.round((ms - fromMs) / 1000);
  const first = starts[0] ?? Infinity;
  if (ms < first) return second % inFull.heatUpEveryS === 0;
  const last = starts.at(-1) ?? 0;
  // Cooling down, after the last closing.
  if (ms > last + 60 * minuteMs) return second % (4 * inFull.heatUpEveryS) === 0;
  return (
    second % inFull.everyS === 0 &&
    starts.some(
      (startMs, n) =>
        n % inFull.everyClosing === 0 &&
        ms > startMs - inFull.beforeMin * minuteMs &&
        ms < startMs + inFull.afterMin * minuteMs,
    )
  );
}

function say(instrument: Instrument, ms: number, told: Map<string, Told[]>, station: string): void {
  const v = instrument.read(ms);
  if (v === null) return;
  const topic = `plant/${station}/${instrument.point}`;
  const readings = told.get(topic);
  if (readings === undefined) told.set(topic, [{ t: ms, v }]);
  else readings.push({ t: ms, v });
}

/** The job of the fifth week, as maintenance entered it. */
function recordWork(collector: Taker, nowMs: number): void {
  const { station, points, plannedMs, doneMs } = heaterChanged;
  const work = 'W-0031';
  const note = 'one of three rods without current';
  const job = { work, station, points, what: 'heater' as const };
  const about = { station, work };
  const by = maintenance;
  const dayBefore = nowMs - 24 * 60 * minuteMs;
  if (plannedMs > dayBefore && plannedMs <= nowMs) {
    const body = { ...job, note, because: 'seat, lower face is slow to heat' };
    collector.append([{ kind: 'work-planned', by, about, body, act: 'demo-work-planned' }]);
  }
  if (doneMs > dayBefore && doneMs <= nowMs) {
    const body = { ...job, note: 'rod 2 changed', doneMs };
    collector.append([{ kind: 'work-done', by, about, body, act: 'demo-work-done' }]);
  }
}
