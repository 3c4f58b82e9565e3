import type { PlateNature } from './plate.ts';
import { dayOf } from './calendar.ts';
import type { PressNature } from './press.ts';
import { pressesHeated } from './rooms.ts';
import { seatsPressed } from './schedule.ts';

/** Beech veneer with dry film, as it really is: a little faster than its recipe says. */
const beech = {
  plyMm: 1.5,
  conductivityWPerMK: 0.171,
  densityKgPerM3: 718,
  heatCapacityJPerKgK: 1700,
  contactWPerM2K: 505,
};

const oilPlate: PlateNature = {
  faces: 1,
  skinJPerM2K: 19_000,
  coreJPerM2K: 75_000,
  coreToSkinWPerM2K: 250,
  heaterWPerM2: 15_000,
  lossWPerM2K: 15,
  offsetK: 0,
};

/** Between two openings: two faces draw from it. */
const middlePlate: PlateNature = { ...oilPlate, faces: 2 };

/** Upper left: its channel is half blocked, so it settles 8 K low and takes longer to come back. */
const weakPlate: PlateNature = {
  ...oilPlate,
  offsetK: -8,
  coreToSkinWPerM2K: 170,
  heaterWPerM2: 11_000,
};

export const pressOne: PressNature = {
  station: 'press-1',
  plates: {
    'p1-1l': weakPlate,
    'p1-1r': oilPlate,
    'p1-2l': middlePlate,
    'p1-2r': middlePlate,
    'p1-3l': oilPlate,
    'p1-3r': oilPlate,
  },
  gaps: [
    { opening: 'o1', zone: 'left', upper: 'p1-1l', lower: 'p1-2l' },
    { opening: 'o1', zone: 'right', upper: 'p1-1r', lower: 'p1-2r' },
    { opening: 'o2', zone: 'left', upper: 'p1-2l', lower: 'p1-3l' },
    { opening: 'o2', zone: 'right', upper: 'p1-2r', lower: 'p1-3r' },
  ],
  setC: 138,
  board: beech,
};

const toolHalf: PlateNature = { ...oilPlate, skinJPerM2K: 18_000, coreToSkinWPerM2K: 280 };
/** One of three heater rods has burnt out. */
const wingHalf: PlateNature = { ...toolHalf, offsetK: -7 };

export const pressTwo: PressNature = {
  station: 'press-2',
  plates: {
    'p2-seat-u': toolHalf,
    'p2-seat-l': toolHalf,
    'p2-back-u': toolHalf,
    'p2-back-l': toolHalf,
    'p2-wing-u': wingHalf,
    'p2-wing-l': wingHalf,
  },
  gaps: [
    { opening: null, zone: 'seat', upper: 'p2-seat-u', lower: 'p2-seat-l' },
    { opening: null, zone: 'back', upper: 'p2-back-u', lower: 'p2-back-l' },
    { opening: null, zone: 'wing', upper: 'p2-wing-u', lower: 'p2-wing-l' },
  ],
  setC: 136,
  board: beech,
};

/** Seats with liquid glue are pressed cooler: steam would burst them [°C]. */
const seatsSetC = 114;

/** What a press is set to at a moment [°C]; null: heat is off. */
export function setC({ station, setC: usualC }: PressNature, ms: number): number | null {
  if (!pressesHeated(ms)) return null;
  const seats = station === pressTwo.station ? seatsPressed(dayOf(ms)) : null;
  return seats !== null && ms >= seats.fromMs ? seatsSetC : usualC;
}
