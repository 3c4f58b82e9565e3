import { beforeAll, describe, expect, test } from 'vitest';
import { calledBy, withoutFaults, type Called } from './called-shift.ts';
import { beyondFigures, calledFaults, faultyShift, shiftMs } from './called-faults.ts';

const patient = 300_000;
const minuteMs = 60_000;

describe('a shift of the demo works with every fault in it', () => {
  let calls: Called[];
  beforeAll(async () => {
    calls = await faultyShift(0);
  }, patient);

  test.each(calledFaults)('$fault: $kind within $withinMin min', (fault) => {
    const { kind, station, point, fromMin, withinMin } = fault;
    const fromMs = shiftMs(0) + fromMin * minuteMs;
    const found = calls.find(
      (call) =>
        call.kind === kind &&
        call.station === station &&
        (point === undefined || call.point === point) &&
        call.raisedMs >= fromMs,
    );
    expect(found, 'nobody is called').toBeDefined();
    expect((found!.raisedMs - fromMs) / minuteMs).toBeLessThanOrEqual(withinMin);
  });

  test('is no more than its people can answer', () => {
    expect(beyondFigures(calls)).toEqual([]);
  });

  test('tells what stands for another once: the trip is one call, the pressure of two openings is one', () => {
    const listed = (kind: string) =>
      calls.filter((call) => call.kind === kind && call.cause === null);
    expect(listed('supply-failing')).toHaveLength(1);
    expect(listed('pressure-lost')).toHaveLength(1);
    const ofTrip = calls.filter(({ cause }) => cause?.startsWith('supply-failing'));
    expect(ofTrip.map(({ kind }) => kind)).toContain('outside-limits');
  });
});

test('the figures know a flood, a load that is too much, and a chatter', () => {
  const call = (raisedMs: number, more: Partial<Called> = {}): Called => ({
    ...{ kind: 'sensor-silent', station: 'press-1', load: null, point: 'p', who: 'maintenance' },
    ...{ tooLateMs: null, values: {}, subject: String(raisedMs), cause: null },
    ...{ raisedMs, clearedMs: null, because: null },
    ...more,
  });
  const calls = (count: number, everyMs: number) =>
    Array.from({ length: count }, (_, i) => call(i * everyMs));
  expect(beyondFigures(calls(10, minuteMs))).toEqual([]);
  expect(beyondFigures(calls(11, 50_000))).toEqual(['maintenance: a flood']);
  expect(beyondFigures(calls(21, 4 * minuteMs))).toEqual(['maintenance: 2.1 in ten minutes']);
  const same = [0, 20_000, 40_000].map((ms) => call(ms, { subject: 'p' }));
  expect(beyondFigures(same)).toEqual(['sensor-silent p chatters']);
});

test(
  'an hour of the same works with nothing wrong calls nobody',
  async () => {
    expect(await calledBy({ seed: 1, fromMs: shiftMs(0), hours: 1 }, [withoutFaults()])).toEqual(
      [],
    );
  },
  patient,
);
