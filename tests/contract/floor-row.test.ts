import { undecided } from '@setwell/shared-models/record/decisions';
import { expect, test } from 'vitest';
import {
  emptyLive,
  floorRow,
  nextLive,
  openCalls,
  type FloorCall,
  type FloorLoad,
  type LiveState,
} from '@setwell/shared-models/api/floor';

const nowMs = Date.UTC(2026, 2, 2, 13, 26, 8);
const minuteMs = 60_000;

const load: FloorLoad = {
  load: 'P1-1',
  station: 'press-1',
  opening: null,
  zones: ['left'],
  lot: 'K-118',
  partCount: 1,
  recipe: { id: 'shell', revision: 1, title: 'Shell' },
  state: 'open',
  startMs: nowMs - 10 * minuteMs,
  endMs: null,
  plannedEndMs: null,
  asOfMs: nowMs,
  verdict: 'under',
  side: 'short',
  unit: 'min',
  window: { least: 8, most: 60 },
  worst: null,
  placeCount: 1,
  forecast: null,
  say: 'wait',
  reasons: [],
  blindSinceMs: null,
  silentPoints: [],
  gapCount: 0,
  provenSinceMs: null,
  overSinceMs: null,
  changed: null,
  decisions: undecided,
};

const forecast = (provenInMs: number | null, overInMs: number | null = null) => ({
  provenAtMs: provenInMs === null ? null : nowMs + provenInMs,
  provenEarliestMs: provenInMs === null ? null : nowMs + provenInMs,
  provenLatestMs: provenInMs === null ? null : nowMs + provenInMs,
  overAtMs: overInMs === null ? null : nowMs + overInMs,
  waitingHelps: true,
  atPlan: null,
});

const call = (of: Partial<FloorCall>): FloorCall => ({
  id: 'c',
  n: 1,
  lastN: 1,
  raisedMs: nowMs,
  state: 'up',
  handedOn: [],
  shelved: null,
  costs: 'load',
  kind: 'ended-short',
  station: 'press-1',
  load: 'P1-1',
  point: null,
  who: 'shift-lead',
  tooLateMs: null,
  values: {},
  acknowledged: null,
  cleared: null,
  ...of,
});

function rowOf(loads: FloorLoad[], calls: FloorCall[] = [], more: Partial<LiveState> = {}) {
  const state: LiveState = {
    ...emptyLive,
    loads: Object.fromEntries(loads.map((each) => [each.load, each])),
    calls: Object.fromEntries(calls.map((each) => [each.id, each])),
    ...more,
  };
  return floorRow(state, 'press-1', nowMs);
}

test.each([
  ['a second over six minutes is seven', 6 * minuteMs + 1000, 7],
  ['six minutes are six', 6 * minuteMs, 6],
  ['a second is one minute, never none', 1000, 1],
  ['proven a moment ago but not judged yet is still one', -1000, 1],
])('minutes to go round up: %s', (_, inMs, min) => {
  const row = rowOf([{ ...load, forecast: forecast(inMs) }]);
  expect(row.slot).toEqual({ kind: 'more', fromMin: min, toMin: min });
});

test.each([
  ['ten minutes left: the clock', 10 * minuteMs, 'out-by'],
  ['a second less: the minutes, rounded down', 10 * minuteMs - 1000, 'left'],
])('near the most: %s', (_, overInMs, kind) => {
  const proven = { ...load, verdict: 'in-window' as const, side: null };
  const row = rowOf([{ ...proven, forecast: forecast(0, overInMs) }]);
  expect(row.slot.kind).toBe(kind);
  if (row.slot.kind === 'left') expect(row.slot.min).toBe(9);
});

test('a proven load of which only the ledger is known says no end only where its recipe has none', () => {
  const proven = { ...load, verdict: 'in-window' as const, side: null, forecast: null };
  expect(rowOf([{ ...proven, window: null }]).slot.kind).toBe('counting');
  expect(rowOf([proven]).slot.kind).toBe('counting');
  const endless = { least: 6, most: null };
  expect(rowOf([{ ...proven, window: endless }]).slot.kind).toBe('no-end');
});

test('an open load that is under, or unproven and short, is not yet; unproven and long is not', () => {
  expect(rowOf([load]).token).toBe('not-yet');
  expect(rowOf([{ ...load, verdict: 'unproven', side: 'short' }]).token).toBe('not-yet');
  expect(rowOf([{ ...load, verdict: 'unproven', side: 'long' }]).token).toBe('unproven');
  expect(rowOf([{ ...load, state: 'ended' }], [call({})]).token).toBe('under');
});

test('an ended load stays while a call about it is open, and not a moment longer', () => {
  const ended = { ...load, state: 'sealed' as const };
  expect(rowOf([ended], [call({})]).slot.kind).toBe('on-hold');
  // A closing without a name is in the station now: it asks, and the held load waits elsewhere.
  const closing = call({ id: 'd', kind: 'closing-unnamed', load: null });
  expect(rowOf([ended], [call({}), closing]).slot.kind).toBe('which-lot');
  const cleared = call({ cleared: { atMs: nowMs, because: 'decided' } });
  expect(rowOf([ended], [cleared]).load).toBeNull();
});

test('a new load in a station takes the row from the one on hold', () => {
  const ended = { ...load, state: 'sealed' as const };
  const next = { ...load, load: 'P1-2', startMs: nowMs };
  const row = rowOf([ended, next], [call({})]);
  expect(row.load?.load).toBe('P1-2');
  expect(row.called).toBe(false);
});

test('blind minutes do not hide that the heat is proven already', () => {
  const blindSinceMs = nowMs - 7 * minuteMs;
  expect(rowOf([{ ...load, blindSinceMs }]).slot).toEqual({ kind: 'blind', min: 7 });
  const proven = { ...load, verdict: 'in-window' as const, side: null, blindSinceMs };
  const row = rowOf([{ ...proven, forecast: forecast(0, 30 * minuteMs) }]);
  expect(row.slot.kind).toBe('out-by');
  expect(row.blind).toBe(true);
});

test('calls stand by the minutes until it is too late, then by since when', () => {
  const state = {
    ...emptyLive,
    calls: {
      a: call({ id: 'a', raisedMs: 5 }),
      b: call({ id: 'b', raisedMs: 9, tooLateMs: nowMs + 60_000 }),
      c: call({ id: 'c', raisedMs: 2 }),
      d: call({ id: 'd', raisedMs: 1, tooLateMs: nowMs + 30_000 }),
    },
  };
  expect(openCalls(state).map(({ id }) => id)).toEqual(['d', 'b', 'c', 'a']);
});

test('a call that stands says the minutes of now; what is put aside or over keeps those it was raised with', () => {
  const plannedEndMs = nowMs + 10 * minuteMs;
  const said = { longerMin: 5, untilMs: plannedEndMs + 5 * minuteMs, plannedEndMs, glueLine: 6 };
  const short = {
    ...call({ id: 's', kind: 'short-at-plan', tooLateMs: plannedEndMs }),
    values: said,
  };
  const standing = (of: FloorCall, loads: FloorLoad[], stations: LiveState['stations'] = {}) =>
    openCalls({
      calls: { [of.id]: of },
      loads: Object.fromEntries(loads.map((each) => [each.load, each])),
      stations,
    })[0];
  const now = { ...load, plannedEndMs, forecast: forecast(18.5 * minuteMs) };
  expect(standing(short, [now])).toMatchObject({
    tooLateMs: plannedEndMs,
    values: {
      longerMin: 9,
      untilMs: Math.ceil((nowMs + 18.5 * minuteMs) / minuteMs) * minuteMs,
      glueLine: 6,
    },
  });
  // Kept closed by a promise, and still short: its plan is the promise.
  const promise = { untilMs: plannedEndMs + 5 * minuteMs, by: 'p-1', atMs: nowMs };
  const promised = { ...now, decisions: { ...undecided, promise } };
  expect(standing(short, [promised])).toMatchObject({
    tooLateMs: promise.untilMs,
    values: { longerMin: 4, plannedEndMs: promise.untilMs },
  });
  expect(standing(short, [])).toEqual(short);
  expect(standing(short, [{ ...now, forecast: null }])).toEqual(short);
  const most = call({
    id: 'm',
    kind: 'nearing-most',
    tooLateMs: nowMs,
    values: { overAtMs: nowMs },
  });
  expect(standing(most, [{ ...load, forecast: forecast(0, 7 * minuteMs) }])).toMatchObject({
    tooLateMs: nowMs + 7 * minuteMs,
    values: { overAtMs: nowMs + 7 * minuteMs },
  });
  const late = call({
    ...{ id: 'r', kind: 'ready-late', load: null, tooLateMs: nowMs },
    values: { readyMs: nowMs + 6 * minuteMs, lateMin: 6 },
  });
  const heating = {
    ...({ type: 'station', station: 'press-1', condition: 'heating', sinceMs: 0 } as const),
    ...{ asOfMs: nowMs, readyMs: nowMs + 12.4 * minuteMs, service: null },
  };
  expect(standing(late, [], { 'press-1': heating })?.values).toMatchObject({
    readyMs: nowMs + 12.4 * minuteMs,
    lateMin: 12,
  });
  expect(standing(late, [])).toEqual(late);
});

test('a whole frame forgets what it does not hold; a part keeps it', () => {
  const link = { ...emptyLive.link, collector: 'connected' as const };
  const full = nextLive(emptyLive, { whole: true, nowMs, link, loads: { 'P1-1': load } });
  const part = nextLive(full, { whole: false, nowMs, loads: { 'P1-2': load } });
  expect(Object.keys(part.loads)).toEqual(['P1-1', 'P1-2']);
  const gone = nextLive(part, { whole: false, nowMs, loads: { 'P1-1': null } });
  expect(Object.keys(gone.loads)).toEqual(['P1-2']);
  expect(Object.keys(nextLive(part, { whole: true, nowMs, link, loads: {} }).loads)).toEqual([]);
});
