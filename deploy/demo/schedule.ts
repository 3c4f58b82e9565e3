import { atClock, dayMs, isWorkingDay, minuteMs, weekdayOf, workingDayNumber } from './calendar.ts';
import { chance } from './chance.ts';

/** What goes into a station, and when: the works' plan of a day, as the operators carry it out. */
export interface PlannedLoad {
  station: string;
  load: string;
  lot: string;
  recipe: string;
  /** Null: the station has no openings. */
  opening: string | null;
  zones: string[];
  parts: string[];
  startMs: number;
  /** Pressure is let off, or the load taken out. */
  endMs: number;
  /** Nobody read its card: the plates alone tell of it. */
  unnamed?: boolean;
  /** What people enter of it. */
  entered?: Entered[];
}

export interface Entered {
  event: 'mix' | 'spread' | 'piece-temperature' | 'test-result';
  /** After its start; before it below 0 [min]. */
  afterMin: number;
  of: object;
}

const shiftStartsH = [6, 14];

/** Every load that starts on a day, by start. Nothing but the day and the seed goes in. */
export function loadsOfDay(day: number, seed: number): PlannedLoad[] {
  if (!isWorkingDay(day)) return [];
  return [
    ...pressOneLoads(day),
    ...pressTwoLoads(day),
    ...rackLoads(day, seed),
    ...ovenLoads(day),
    ...storeLoads(day),
    ...benchLoads(day),
    ...lampLoads(day),
  ].sort((a, b) => a.startMs - b.startMs || (a.load < b.load ? -1 : 1));
}

const closingEveryMin = 27;
const closingsAShift = 17;
const partsAnOpening = 6;

/** The second closing of a Monday is opened before its time: just enough for the lower opening. */
const openedEarly = { closing: 1, min: 20.7 };

/**
 * Both openings close and open together. Every third closing presses 9 plies below and 13 above.
 * The upper opening's left side is slow (its platen is weak), and still done by the plan.
 */
function pressOneLoads(day: number): PlannedLoad[] {
  return closings(day, 13, closingsAShift).flatMap(({ startMs, n }, k) => {
    const minutes = isMonday(day) && k === openedEarly.closing ? openedEarly.min : 24;
    const lot = `K-${98 + 2 * Math.floor(n / 4)}`;
    return ['o1', 'o2'].map((opening, at) => ({
      station: 'press-1',
      load: numbered('P1', 149 + 2 * n + at),
      lot,
      recipe: opening === 'o2' && n % 3 === 1 ? 'shell-9ply' : 'shell-13ply',
      opening,
      zones: ['left', 'right'],
      parts: partsOf(lot, ((n % 4) * 2 + at) * partsAnOpening, partsAnOpening),
      startMs,
      endMs: startMs + minutes * minuteMs,
    }));
  });
}

/**
 * The wing of the tool is too cold for the plan, closing after closing. Mostly the operator waits for
 * what the screen says; once a shift he opens as planned.
 */
function pressTwoLoads(day: number): PlannedLoad[] {
  const seats = seatsPressed(day);
  const shells = closings(day, 26, closingsAShift - 1).filter(
    ({ startMs }) => startMs < (seats?.fromMs ?? Infinity),
  );
  return [
    ...shells.map((closing, k) => shellOfTool(closing, isMonday(day) && k === unnamedClosing)),
    ...(seats === null ? [] : [seats.load]),
  ];
}

/** The closing of a Monday whose card nobody read. */
const unnamedClosing = 3;

function shellOfTool({ startMs, n }: Closing, unnamed: boolean): PlannedLoad {
  const lot = `K-${99 + 2 * Math.floor(n / 4)}`;
  return {
    station: 'press-2',
    load: numbered('P2', 500 + n),
    lot,
    recipe: 'shell-13ply',
    opening: null,
    zones: ['seat', 'back', 'wing'],
    parts: partsOf(lot, (n % 4) * 4, 4),
    startMs,
    endMs: startMs + (n % (closingsAShift - 1) === 6 ? 24 : 26) * minuteMs,
    unnamed,
  };
}

/** On Friday evenings the tool is let down to 115 °C, and a lot of seats is pressed with liquid glue. */
const seats = {
  weekday: 4,
  letDownH: 21.17,
  startH: 21.6,
  pressedMin: 10,
  releaseMin: 3,
};

export interface SeatsPressed {
  /** From when on the tool is cooler for them. */
  fromMs: number;
  load: PlannedLoad;
}

/** Null on other days. */
export function seatsPressed(day: number): SeatsPressed | null {
  if (weekdayOf(day) !== seats.weekday) return null;
  const week = workingDayNumber(day) / 5;
  const lot = `W-${41 + week}`;
  const startMs = atClock(day, seats.startH);
  return {
    fromMs: atClock(day, seats.letDownH),
    load: {
      station: 'press-2',
      load: numbered('PW', 81 + week),
      lot,
      recipe: 'seat-9ply-wet',
      opening: null,
      zones: ['seat'],
      parts: partsOf(lot, 0, 6),
      startMs,
      endMs: startMs + (seats.pressedMin + seats.releaseMin) * minuteMs,
    },
  };
}

interface Closing {
  startMs: number;
  n: number;
}

function closings(day: number, firstMin: number, count: number): Closing[] {
  return shiftStartsH.flatMap((hour, shift) =>
    Array.from({ length: count }, (_, k) => ({
      startMs: atClock(day, hour) + (firstMin + k * closingEveryMin) * minuteMs,
      n: (workingDayNumber(day) * 2 + shift) * count + k,
    })),
  );
}

function rackLoads(day: number, seed: number): PlannedLoad[] {
  const aDay = 28;
  return Array.from({ length: aDay }, (_, k) => {
    const n = workingDayNumber(day) * aDay + k;
    const bay = (k % 2 === 1 ? 7 : 1) + (Math.floor(k / 2) % 6);
    const odd = isMonday(day) ? oddFrames[k] : undefined;
    const lot = `S-${300 + Math.floor(n / 4)}`;
    const startMs = atClock(day, 6) + (20 + 30 * k) * minuteMs;
    const overMin = 2 + Math.floor(chance(seed, 'clamps', n) * 8);
    return {
      station: 'rack-a',
      load: numbered('RA', 700 + n),
      lot,
      recipe: 'frame-pvac',
      opening: null,
      zones: [`bay-${bay}`],
      parts: partsOf(lot, (n % 4) * 8, 8),
      startMs,
      endMs: startMs + ((odd?.recipe === undefined ? 130 : 300) + overMin) * minuteMs,
      ...odd,
    };
  });
}

/** On Monday mornings parts come cold from the yard, and glue is used that had stood for too long. */
const oddFrames: Record<number, Pick<PlannedLoad, 'entered'> & { recipe?: string }> = {
  0: {
    entered: [{ event: 'piece-temperature', afterMin: 1, of: { tempC: 12, expandedK: 1 } }],
  },
  2: {
    recipe: 'frame-2part',
    entered: [
      { event: 'mix', afterMin: -45, of: { mix: 'K-M-077', tempC: 24, expandedK: 0.5 } },
      { event: 'spread', afterMin: -4, of: { mix: 'K-M-077' } },
    ],
  },
};

/** A lot of tops is coated eight times in two days: coats of set A on the first, of set B on the second. */
const coatsADay = 4;
const lotsAtOnce = 4;
/** From one lot onto the belt to the next; five of them are three hours and three quarters between two coats. */
const beltEveryMin = 45;
const slotsACoat = 5;
/** From the belt's start to its end, at 0.275 m/min over 18 m [min]. */
const onBeltMin = 65.5;

/** On Fridays the oven is cleaned. */
function ovenLoads(day: number): PlannedLoad[] {
  if (weekdayOf(day) === 4) return [];
  const set = weekdayOf(day) % 2;
  return Array.from({ length: coatsADay * lotsAtOnce }, (_, k) => {
    const coat = set * coatsADay + Math.floor(k / lotsAtOnce) + 1;
    const slot = Math.floor(k / lotsAtOnce) * slotsACoat + (k % lotsAtOnce);
    const lot = coatedLot(day, k % lotsAtOnce);
    const startMs = atClock(day, 6) + (50 + beltEveryMin * slot) * minuteMs;
    return {
      station: 'oven-1',
      load: `O1-${lot.slice(2)}-${coat}`,
      lot,
      recipe: `top-coat-${coat}`,
      opening: null,
      zones: ['flash', 'bake-1', 'bake-2', 'bake-3', 'cool'],
      parts: partsOf(lot, 0, topsALot),
      startMs,
      endMs: startMs + onBeltMin * minuteMs,
    };
  });
}

const topsALot = 8;

/** A lot whose coats were begun on a Monday or a Wednesday. */
function coatedLot(day: number, nth: number): string {
  const week = Math.floor((day + 4) / 7);
  const pair = 2 * week + (weekdayOf(day) >= 2 ? 1 : 0);
  return `S-${200 + pair * lotsAtOnce + nth}`;
}

/** Six shelves, three lots a week, fourteen days each. Bay 3 is too cold for a plan of fourteen days. */
const shelves = [
  'bay-1-top',
  'bay-3-bottom',
  'bay-2-top',
  'bay-1-bottom',
  'bay-3-top',
  'bay-2-bottom',
];
const storeDays = new Map([
  [0, 1],
  [2, 2],
  [4, 3],
]);

function storeLoads(day: number): PlannedLoad[] {
  const inWeek = storeDays.get(weekdayOf(day));
  if (inWeek === undefined) return [];
  const n = Math.floor(workingDayNumber(day + 4 - weekdayOf(day)) / 5) * 3 + inWeek - 3;
  const shelf = shelves[((n % shelves.length) + shelves.length) % shelves.length] ?? 'bay-1-top';
  // The first lot of the tops that have had their last coat before.
  const lot = coatedLot(day - (inWeek === 1 ? 4 : 1), inWeek === 1 ? 1 : 0);
  const startMs = atClock(day, 21);
  return [
    {
      station: 'store-1',
      load: numbered('S1', 40 + n),
      lot,
      recipe: 'top-rest',
      opening: null,
      zones: [shelf],
      parts: partsOf(lot, 0, topsALot),
      startMs,
      endMs: startMs + 14 * dayMs - 30 * minuteMs,
    },
  ];
}

/** Feet are glued on the hot plate each hour. */
function benchLoads(day: number): PlannedLoad[] {
  const aDay = 15;
  return Array.from({ length: aDay }, (_, k) => {
    const n = workingDayNumber(day) * aDay + k;
    const lot = `F-${60 + Math.floor(n / 5)}`;
    const startMs = atClock(day, 6.6 + k);
    return {
      station: 'bench-1',
      load: numbered('B1', 310 + n),
      lot,
      recipe: 'foot-2part',
      opening: null,
      zones: ['plate'],
      parts: partsOf(lot, (n % 5) * 12, 12),
      startMs,
      endMs: startMs + 15 * minuteMs,
    };
  });
}

/** Buttons, once a shift: a tray of them for a quarter of a minute under the lamp. */
function lampLoads(day: number): PlannedLoad[] {
  return shiftStartsH.map((hour, shift) => {
    const n = workingDayNumber(day) * 2 + shift;
    const lot = `B-${20 + Math.floor(n / 2)}`;
    const startMs = atClock(day, hour + 2.75);
    return {
      station: 'uv-1',
      load: numbered('UV', 120 + n),
      lot,
      recipe: 'button-uv',
      opening: null,
      zones: ['box'],
      parts: partsOf(lot, shift * 20, 20),
      startMs,
      endMs: startMs + minuteMs / 4,
      entered: [
        {
          event: 'test-result',
          afterMin: 0.5,
          of: { method: 'strip in the box, dose', value: 1380, unit: 'mJ/cm²' },
        },
      ],
    };
  });
}

function isMonday(day: number): boolean {
  return weekdayOf(day) === 0;
}

function numbered(prefix: string, n: number): string {
  return `${prefix}-${String(n).padStart(5, '0')}`;
}

function partsOf(lot: string, from: number, count: number): string[] {
  return Array.from({ length: count }, (_, i) => `${lot}-${String(from + i + 1).padStart(2, '0')}`);
}
