import { demoStartMs, firstRecordMs, hourMs, minuteMs } from './calendar.ts';
import { chance } from './chance.ts';
import type { Press } from './press.ts';
import {
  benchPlateC,
  hallC,
  lampBoxC,
  lampMwPerCm2,
  ovenC,
  ovenPoints,
  pressesHeated,
  roomPoints,
  sampleJointC,
  shelfC,
} from './rooms.ts';

/** One measured place as its controller reads it: now and then, with an error, in steps. */
export interface Instrument {
  station: string;
  point: string;
  /** What it says at a moment; null where it says nothing then. */
  read(ms: number): number | null;
}

/** What the instruments read too much, more or less as their certificates say [K]. */
const errorK: Record<string, number> = {
  'p1-1l': 0.3,
  'p1-1r': -0.1,
  'p1-2l': 0.1,
  'p1-2r': 0.15,
  'p1-3l': -0.2,
  'p1-3r': 0.05,
  'p2-seat-u': 0.75,
  'p2-seat-l': -0.5,
  // Never calibrated: nobody knows of these two.
  'p2-back-u': 0.9,
  'p2-back-l': -0.6,
  'p2-wing-u': -0.2,
  'p2-wing-l': 0.35,
};

/** Half-width of what two readings of the same temperature differ by, and the step they are told in [K]. */
const noiseK = 0.06;
const stepK = 0.1;

/** Nights and weekends, with presses and oven off, everything there is read so often: while it cools, and cold. */
const resting = { coolingEveryS: 60, coldEveryS: 240, coolsMs: 3 * hourMs };

/** The belt's speed [m/min]: a part is in the bake for 40 min. */
const beltMPerMin = 0.275;

/** Rooms are read all the time [s]. */
const roomEveryS = 60;

/** At most so often [s]; 1 while there is heat. */
function restingEveryS(ms: number): number {
  if (pressesHeated(ms)) return 1;
  return pressesHeated(ms - resting.coolsMs) ? resting.coolingEveryS : resting.coldEveryS;
}

export function instruments(
  presses: readonly Press[],
  { seed, pressEveryS }: { seed: number; pressEveryS: number },
): Instrument[] {
  const slowS = Math.max(5, pressEveryS);
  const every = (
    station: string,
    point: string,
    everyS: number,
    truth: (ms: number) => number,
    noise = noiseK,
    step = stepK,
  ): Instrument => ({
    station,
    point,
    read: (ms) => {
      if (ms % (everyS * 1000) !== 0 || point === silentPoint(ms)) return null;
      if (everyS < roomEveryS && ms % (restingEveryS(ms) * 1000) !== 0) return null;
      const read = truth(ms) + (errorK[point] ?? 0) + (2 * chance(seed, point, ms) - 1) * noise;
      return Math.round(read / step) / Math.round(1 / step);
    },
  });
  return [
    ...presses.flatMap((press) => pressInstruments(press, pressEveryS, every)),
    ...ovenPoints.map((point) => every('oven-1', point, slowS, (ms) => ovenC(point, ms))),
    every('oven-1', 'o1-speed', slowS, () => beltMPerMin, 0.001, 0.001),
    every('oven-1', 'o1-fan', slowS, (ms) => Number(pressesHeated(ms)), 0, 1),
    every('oven-1', 'o1-door', slowS, () => 0, 0, 1),
    ...roomPoints
      .filter((point) => point.startsWith('ra-'))
      .map((point) => every('rack-a', point, roomEveryS, (ms) => shelfC(point, ms))),
    every('rack-a', 'ra-rh', roomEveryS, () => 46, 1),
    every('rack-a', 'ra-probe', roomEveryS, sampleJointC),
    ...roomPoints
      .filter((point) => point.startsWith('s1-'))
      .map((point) =>
        onChange(every('store-1', point, roomEveryS, (ms) => shelfC(point, ms), 0.02)),
      ),
    every('store-1', 's1-rh', roomEveryS, () => 49, 1),
    every('store-1', 's1-fan', roomEveryS, () => 1, 0, 1),
    onChange(every('film-room', 'fr-1', roomEveryS, (ms) => shelfC('fr-1', ms), 0.02)),
    every('film-room', 'fr-rh', roomEveryS, () => 52, 1),
    ...benchInstruments(every),
  ];
}

type Every = (
  station: string,
  point: string,
  everyS: number,
  truth: (ms: number) => number,
  noise?: number,
  step?: number,
) => Instrument;

/** The bench's meter is switched on while somebody works there. */
function benchInstruments(every: Every): Instrument[] {
  const whileHeated = (instrument: Instrument): Instrument => ({
    ...instrument,
    read: (ms) => (pressesHeated(ms) ? instrument.read(ms) : null),
  });
  return [
    every('bench-1', 'b1-plate', roomEveryS, benchPlateC),
    every('uv-1', 'b1-uv', roomEveryS, lampMwPerCm2, 0.5, 0.1),
    every('uv-1', 'uv-air', roomEveryS, lampBoxC),
  ].map(whileHeated);
}

function pressInstruments(press: Press, pressEveryS: number, every: Every): Instrument[] {
  const { station, plates } = press.nature;
  const slowS = Math.max(5, pressEveryS);
  const prefix = station === 'press-1' ? 'p1' : 'p2';
  const faces = Object.keys(plates).map((point) =>
    every(station, point, pressEveryS, () => press.elementC(point)),
  );
  const bar = every(station, `${prefix}-bar`, slowS, () => (press.closed ? 162 : 0), 0.8);
  if (prefix === 'p2')
    return [
      ...faces,
      bar,
      ...['p2-seat-u', 'p2-back-u', 'p2-wing-u'].map((point, heater) =>
        every(station, `p2-a-${heater + 1}`, slowS, () => 36 * press.outputOf(point), 0.2),
      ),
    ];
  return [
    ...faces,
    ...Object.keys(plates).map((point) =>
      every(station, `${point}c`, slowS, () => press.deepElementC(point)),
    ),
    bar,
    every(station, 'p1-closed', slowS, () => (press.closed ? 1 : 0), 0, 1),
    every(station, 'p1-out', slowS, () => 100 * press.output, 0.5),
    every(station, 'p1-sup', slowS, (ms) => (press.output > 0 ? 146 : hallC(ms)), 0.3),
    every(station, 'p1-ret', slowS, (ms) =>
      press.output > 0 ? 146 - 9 * press.output : hallC(ms),
    ),
  ];
}

/** Says something when it has changed by 0.2 K, and every five minutes that it still lives. */
function onChange(instrument: Instrument): Instrument {
  let last: { ms: number; v: number } | null = null;
  return {
    ...instrument,
    read: (ms) => {
      const v = instrument.read(ms);
      if (v === null) return null;
      if (last && Math.abs(v - last.v) < 0.2 - 1e-9 && ms - last.ms < 300_000) return null;
      last = { ms, v };
      return v;
    },
  };
}

/** One instrument is always out, on purpose, for 24 minutes; then it comes back and another goes. */
const outages = {
  points: ['o1-z2', 's1-2b', 'ra-rh', 'o1-z4', 'p1-ret', 's1-rh'],
  forMs: 24 * minuteMs,
};
/** A few minutes before the demo's clock begins, in the middle of an oven load. */
const outagesFromMs = demoStartMs - 7 * minuteMs;

/** The point that says nothing at a moment. */
export function silentPoint(ms: number): string {
  if (ms < firstRecordMs) return '';
  const { points, forMs } = outages;
  const turn = Math.floor((ms - outagesFromMs) / forMs);
  return points[((turn % points.length) + points.length) % points.length] ?? '';
}
