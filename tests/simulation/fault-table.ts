import type { Plant } from '@setwell/shared-models/plant/plant';
import { morning, watchWorks, type Fault, type OnTheWay, type Told } from './faulty-works.ts';

/** A Monday; presses are at heat, and three and a half hours have told what is usual. */
const day = 3;
const time = { seed: 1, startMs: morning(day, 6), hours: 5 };
const faultMs = time.startMs + 3.5 * 3_600_000;

export interface StagedFault {
  rule: string;
  point: string;
  /** The second one it takes. */
  partner?: string;
  of: Fault;
  /** Found by then [min]. */
  withinMin: number;
  /** How far from its true beginning it may be doubted from [min]. */
  fromWithinMin?: number;
}

const at = (point: string, change: (reading: OnTheWay) => OnTheWay | null): Fault => {
  return (reading) => (reading.point === point ? change(reading) : reading);
};

const held = (): ((reading: OnTheWay) => OnTheWay) => {
  let value: number | null = null;
  return (reading) => ({ ...reading, raw: (value ??= reading.raw) });
};

/** One wire: what one point says, the other says too. */
const copied = (from: string, to: string): Fault => {
  let raw: number | null = null;
  return (reading) => {
    if (reading.point === from) raw = reading.raw;
    return reading.point === to && raw !== null ? { ...reading, raw } : reading;
  };
};

/** Two wires in each other's place, of two stations: each topic carries what the other's element sees. */
const crossed = (one: string, other: string): Fault => {
  const lies = new Map([
    [one, other],
    [other, one],
  ]);
  return (reading) => ({ ...reading, point: lies.get(reading.point) ?? reading.point });
};

const minute = ({ tMs }: OnTheWay) => Math.floor(tMs / 60_000);

export const staged: StagedFault[] = [
  { rule: 'open', point: 'p1-2l', withinMin: 0.5, of: at('p1-2l', (r) => ({ ...r, raw: 850 })) },
  { rule: 'short', point: 'p1-2l', withinMin: 0.5, of: at('p1-2l', (r) => ({ ...r, raw: -200 })) },
  {
    rule: 'out-of-range',
    point: 'p1-2l',
    withinMin: 0.5,
    of: at('p1-2l', (r) => ({ ...r, raw: 400 })),
  },
  {
    rule: 'impossible-rate',
    point: 'p1-2l',
    withinMin: 5,
    of: at('p1-2l', (r) => (minute(r) % 2 === 0 ? { ...r, raw: r.raw + 25 } : r)),
  },
  { rule: 'stuck', point: 'p2-seat-u', withinMin: 15, of: at('p2-seat-u', held()) },
  {
    rule: 'noise-grown',
    point: 'p1-3r',
    withinMin: 12,
    fromWithinMin: 3,
    of: at('p1-3r', (r) => ({ ...r, raw: r.raw + 12 * Math.sin(997 * r.tMs) })),
  },
  { rule: 'silent', point: 'p1-3r', withinMin: 2.5, of: at('p1-3r', () => null) },
  {
    rule: 'clock-off',
    point: 'o1-z1',
    withinMin: 5,
    fromWithinMin: 61,
    of: at('o1-z1', (r) => ({ ...r, tMs: r.tMs - 3_600_000 })),
  },
  {
    rule: 'late',
    point: 'o1-z1',
    withinMin: 5,
    fromWithinMin: 4,
    of: at('o1-z1', (r) => ({ ...r, receivedMs: r.tMs + 90_000 + (r.tMs % 95_000) })),
  },
  {
    rule: 'two-values',
    point: 'p1-1r',
    withinMin: 1,
    of: at('p1-1r', (r) => ({ ...r, conflict: true })),
  },
  {
    rule: 'one-wire',
    point: 'p1-2l',
    partner: 'p1-2r',
    withinMin: 45,
    fromWithinMin: 25,
    of: copied('p1-2l', 'p1-2r'),
  },
  {
    rule: 'swapped',
    point: 'p1-2l',
    partner: 'p2-seat-u',
    withinMin: 75,
    fromWithinMin: 25,
    of: crossed('p1-2l', 'p2-seat-u'),
  },
];

export interface FaultRow {
  rule: string;
  point: string;
  /** Null: not found. */
  foundAfterMin: number | null;
  /** Where doubt begins, less where the fault did. */
  doubtedFromMin: number | null;
  /** Other points at which something was found after the fault. */
  elsewhere: string[];
}

/** When each fault is found, and where else something is said. */
export function faultTable(
  plant: Plant,
  quiet: ReadonlySet<string>,
  faults: readonly StagedFault[] = staged,
): FaultRow[] {
  return faults.map(({ rule, point, partner, of }) => {
    const { told } = watchWorks(plant, time, { fromMs: faultMs, of });
    const since = told.filter(({ atMs }) => atMs >= faultMs);
    const isIt = ({ change }: Told) =>
      change.change === 'found' && change.rule === rule && [point, partner].includes(change.point);
    const found = since.find(isIt);
    const elsewhere = since.filter(
      ({ change }) =>
        change.change === 'found' && change.point !== point && !quiet.has(change.point),
    );
    return {
      rule,
      point,
      foundAfterMin: found === undefined ? null : (found.atMs - faultMs) / 60_000,
      doubtedFromMin: found === undefined ? null : (found.change.fromMs - faultMs) / 60_000,
      elsewhere: [...new Set(elsewhere.map(({ change }) => change.point))],
    };
  });
}

/** Points that the demo silences by itself: what is said of them is true. */
export function silencesOf(plant: Plant): ReadonlySet<string> {
  return new Set(watchWorks(plant, time).told.map(({ change }) => change.point));
}
