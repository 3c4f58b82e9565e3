import type { Happening } from '@setwell/deploy/demo/works';
import type { CallKind } from '@setwell/shared-models/record/bodies';
import { calledBy, type Called, type Change } from './called-shift.ts';
import { morning } from './faulty-works.ts';

const minuteMs = 60_000;
/** The demo's first Monday. */
const monday = 3;
/** So much of a shift is played [min]. */
const shiftMin = 100;

/** Two minutes before a closing of press-1; presses are at heat. Weekdays from 0. */
export function shiftMs(weekday: number): number {
  return morning(monday + weekday, 6) + 38 * minuteMs;
}

export interface CalledFault {
  fault: string;
  kind: CallKind;
  station: string;
  point?: string;
  /** When it begins [min from the shift's]. */
  fromMin: number;
  /** Called by then [min]: its rule's own delay, what its rule needs to see, and a look of the judge. */
  withinMin: number;
  /** What it does to what the works send, with minutes of the shift; absent: the demo has it by itself. */
  of?: (sent: Happening, min: number) => Happening[];
}

const readings =
  (
    points: RegExp,
    fromMin: number,
    toMin: number,
    change: (v: number, min: number) => number | null,
  ) =>
  (sent: Happening, min: number): Happening[] => {
    const isIt = sent.kind === 'reading' && points.test(sent.point);
    if (!isIt || min < fromMin || min > toMin) return [sent];
    const v = change(sent.v, min);
    return v === null ? [] : [{ ...sent, v }];
  };

/**
 * The faults of the demo works, those it has by itself and those put into it, each with the call it leads
 * to and by when. Closings of press-1 begin at minutes 2, 29, 56 and 83 of the shift.
 */
export const calledFaults: CalledFault[] = [
  {
    // Five minutes of recovery that its recipe gives, and a look.
    ...{ fault: 'upper left of press-1 8 K low', kind: 'recovery-late', station: 'press-1' },
    ...{ point: 'p1-1l', fromMin: 2, withinMin: 6 },
  },
  {
    // The same, from the first closing that the shift sees whole.
    ...{ fault: 'the wing of press-2 7 K low', kind: 'recovery-late', station: 'press-2' },
    ...{ point: 'p2-wing-u', fromMin: 15, withinMin: 6 },
  },
  {
    // A tenth of its plan.
    ...{ fault: 'press-2 is planned too short', kind: 'short-at-plan', station: 'press-2' },
    ...{ fromMin: 15, withinMin: 3 },
  },
  {
    // Two minutes of silence, and a look.
    ...{ fault: 'the oven’s second zone hangs', kind: 'sensor-silent', station: 'oven-1' },
    ...{ point: 'o1-z2', fromMin: 30, withinMin: 3.5 },
  },
  {
    // A slope over a minute, and a minute of delay.
    ...{ fault: 'the oil pump of press-1 trips', kind: 'supply-failing', station: 'press-1' },
    ...{ fromMin: 40, withinMin: 3.5 },
    of: readings(/^p1-[123][lr]$/, 40, 52, (v, min) => v - 1.5 * (min - 40)),
  },
  {
    // Five seconds of delay, and a look.
    ...{ fault: 'press-1 loses pressure', kind: 'pressure-lost', station: 'press-1' },
    ...{ fromMin: 62, withinMin: 1 },
    of: readings(/^p1-bar$/, 62, 70, (v) => v * 0.6),
  },
  {
    // Two minutes of silence, and a look.
    ...{ fault: 'a face of press-1 cut off', kind: 'sensor-silent', station: 'press-1' },
    ...{ point: 'p1-3r', fromMin: 64, withinMin: 2.5 },
    of: readings(/^p1-3r$/, 64, shiftMin, () => null),
  },
  {
    // Ten seconds for the rule, a minute of delay, and a look.
    ...{ fault: 'a wire of press-1 opens', kind: 'point-fault', station: 'press-1' },
    ...{ point: 'p1-2l', fromMin: 66, withinMin: 2 },
    of: readings(/^p1-2l$/, 66, shiftMin, () => 850),
  },
  {
    // It closes at minute 69: its dip through the gateway, and a minute of delay.
    ...{ fault: 'a closing that nobody names', kind: 'closing-unnamed', station: 'press-2' },
    ...{ fromMin: 68, withinMin: 5 },
    of: (sent) => {
      const isUnsaid = sent.kind === 'event' && sent.station === 'press-2';
      const min = sent.kind === 'event' ? minuteOf(sent.load.startMs) : 0;
      return isUnsaid && min >= 60 && min < 90 ? [] : [sent];
    },
  },
];

const weekMs = 7 * 24 * 60 * minuteMs;
/** Minutes of its day's shift; every working day has the same closings. */
function minuteOf(ms: number): number {
  const dayMs = 24 * 60 * minuteMs;
  return ((((ms - shiftMs(0)) % weekMs) + weekMs) % dayMs) / minuteMs;
}

/** Every fault in one shift: worse than any plant's week. */
export async function faultyShift(weekday: number): Promise<Called[]> {
  const changes = calledFaults.flatMap(({ of }): Change[] =>
    of === undefined ? [] : [(sent) => of(sent, minuteOf(sent.t))],
  );
  return calledBy({ seed: 1, fromMs: shiftMs(weekday), hours: shiftMin / 60 }, changes);
}

/** The published figures: so many calls of one person in ten minutes are a flood [ISA-18.2-2016 §16.4]. */
const floodOf = 10;
/** As many in ten minutes on average as one person can answer at the most [same source]. */
const mostPerTenMin = 2;
/** The same call so often within a minute chatters [same source, a starting point]. */
const chatterOf = 3;

/** What of a shift's calls is more than people can answer; empty: nothing is. */
export function beyondFigures(calls: readonly Called[]): string[] {
  const listed = calls.filter(({ cause }) => cause === null);
  const most = (of: readonly Called[], withinMs: number): number =>
    Math.max(
      0,
      ...of.map(
        ({ raisedMs }) =>
          of.filter((other) => other.raisedMs >= raisedMs && other.raisedMs < raisedMs + withinMs)
            .length,
      ),
    );
  const jobs = [...new Set(listed.map(({ who }) => who))];
  const ofJobs = jobs.flatMap((job) => {
    const own = listed.filter(({ who }) => who === job);
    const perTenMin = own.length / (shiftMin / 10);
    return [
      ...(most(own, 10 * minuteMs) > floodOf ? [`${job}: a flood`] : []),
      ...(perTenMin > mostPerTenMin ? [`${job}: ${String(perTenMin)} in ten minutes`] : []),
    ];
  });
  const subjects = [...new Set(listed.map(({ kind, subject }) => `${kind} ${String(subject)}`))];
  const chattering = subjects.filter((each) => {
    const own = listed.filter(({ kind, subject }) => `${kind} ${String(subject)}` === each);
    return most(own, minuteMs) >= chatterOf;
  });
  return [...ofJobs, ...chattering.map((each) => `${each} chatters`)];
}

/** A working day's shift with every fault in it. */
export async function playFaultyShift(seed: number): Promise<void> {
  const found = beyondFigures(await faultyShift(seed - 1));
  if (found.length > 0) throw new Error(found.join('; '));
}
