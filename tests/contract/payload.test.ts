import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { instantMs } from '@setwell/shared-models/plant/instant';
import { decodeReadings } from '@setwell/shared-models/plant/payload';
import { decodeEvent } from '@setwell/shared-models/plant/station-event';

const celsius = { id: 'p1-ul', signal: 'celsius' } as const;
const t = 1_772_431_200_000;

const read = (payload: unknown, point: Parameters<typeof decodeReadings>[1] = celsius) =>
  decodeReadings(typeof payload === 'string' ? payload : JSON.stringify(payload), point);

const plain = (v: number, more = {}) => ({
  t,
  offsetMs: 0,
  v,
  seq: null,
  doubtful: false,
  ...more,
});

describe('times of a payload', () => {
  // @source RFC 3339, 5.8 (examples)
  it.each([
    ['1985-04-12T23:20:50.52Z', Date.UTC(1985, 3, 12, 23, 20, 50, 520)],
    ['1996-12-19T16:39:57-08:00', Date.UTC(1996, 11, 20, 0, 39, 57)],
    ['1990-12-31T23:59:60Z', Date.UTC(1991, 0, 1)],
    ['1990-12-31T15:59:60-08:00', Date.UTC(1991, 0, 1)],
    ['1937-01-01T12:00:27.87+00:20', Date.UTC(1937, 0, 1, 11, 40, 27, 870)],
    ['2026-03-02t06:00:00z', t],
  ])('reads %s', (text, ms) => {
    expect(instantMs(text)).toBe(ms);
  });

  it.each([
    '2026-03-02T06:00:00',
    '2026-03-02',
    '2026-02-29T00:00:00Z',
    '2026-13-01T00:00:00Z',
    '2026-03-02T24:00:00Z',
    '2026-03-02T06:00:00+25:00',
    '02.03.2026 06:00',
    '',
  ])('does not guess at %j', (text) => {
    expect(instantMs(text)).toBeNull();
  });
});

describe('readings of a payload', () => {
  it.each([
    ['{"t":"2026-03-02T06:00:00.000Z","v":135.2}', plain(135.2)],
    ['{"t":1772431200000,"v":135.2,"seq":41}', plain(135.2, { seq: 41 })],
    ['{"t":1772431200000,"v":-0,"extra":[1]}', plain(0)],
    ['{"t":1772431200000,"v":1,"unit":"°C"}', plain(1)],
    ['{"t":1772431200000,"v":1,"quality":"uncertain"}', plain(1, { doubtful: true })],
    [' 135.2 ', plain(135.2, { t: null })],
  ])('takes %s', (text, reading) => {
    expect(read(text)).toEqual({ readings: [reading], faults: [] });
  });

  it.each([
    ['{"t":1772431200000,"v":"135.2"}', 'not-a-number', 'v', '"135.2"'],
    ['{"t":1772431200000,"v":"warm"}', 'not-a-number', 'v', '"warm"'],
    ['{"t":1772431200000,"v":null}', 'not-a-number', 'v', 'null'],
    ['{"t":1772431200000,"v":1e999}', 'not-a-number', 'v', 'null'],
    ['{"t":1772431200000}', 'missing-field', 'v', 'nothing'],
    ['{"v":135.2}', 'missing-field', 't', 'nothing'],
    ['{"t":1772431200,"v":135.2}', 'not-a-time', 't', '1772431200'],
    ['{"t":"2026-03-02T06:00:00","v":1}', 'not-a-time', 't', '"2026-03-02T06:00:00"'],
    ['{"t":1772431200000,"v":275,"unit":"°F"}', 'wrong-unit', 'unit', '"°F"'],
    ['{"t":1772431200000,"v":NaN}', 'not-json', '', '{"t":1772431200000,"v":NaN}'],
    ['{"t":1772431200000,"v":13', 'not-json', '', '{"t":1772431200000,"v":13'],
    ['NaN', 'not-json', '', 'NaN'],
    ['135,2', 'not-json', '', '135,2'],
    ['', 'not-json', '', 'nothing'],
    ['"135.2"', 'wrong-shape', '', '"135.2"'],
    ['null', 'wrong-shape', '', 'null'],
    ['{}', 'missing-field', 'v', 'nothing'],
  ])('sets aside %s: %s', (text, code, field, found) => {
    expect(read(text)).toMatchObject({ readings: [], faults: [{ code, field, found }] });
  });

  it('takes the good of an array, and names the place of the bad', () => {
    const { readings, faults } = read([{ t, v: 1 }, { t, v: 'x' }, 7, { t: t + 1, v: 2 }]);
    expect(readings.map((reading) => reading.v)).toEqual([1, 2]);
    expect(faults.map(({ code, field }) => [code, field])).toEqual([
      ['not-a-number', '[1].v'],
      ['wrong-shape', '[2]'],
    ]);
  });

  it('asks a point with a format for that format', () => {
    expect(read('{"v":1}', { ...celsius, format: 'bare' }).faults[0]?.code).toBe('not-a-number');
    expect(read('135', { ...celsius, format: 'json' }).faults[0]?.code).toBe('wrong-shape');
    expect(read('135', { ...celsius, format: 'senml' }).faults[0]?.code).toBe('wrong-shape');
  });

  it('takes true and false of a switch, and of nothing else', () => {
    expect(read({ t, v: true }, { id: 'ram', signal: 'switch' }).readings[0]?.v).toBe(1);
    expect(read({ t, v: true }).faults[0]?.code).toBe('not-a-number');
  });
});

describe('a SenML pack', () => {
  const room = { id: 'temp', signal: 'celsius' } as const;

  it('is read with its base values', () => {
    // Shape and values after RFC 8428, 5.1.2, from memory; the time is our own.
    const current = { id: 'current', signal: 'ampere' } as const;
    const pack = [
      { bn: 'urn:dev:ow:10e2073a0108006:', bt: 1.772431200001e9, bu: 'A', bver: 5 },
      { n: 'current', t: -5, v: 1.2 },
      { n: 'current', t: -4, v: 1.3 },
      { n: 'current', v: 1.7 },
    ];
    expect(read(pack, current)).toEqual({
      readings: [
        plain(1.2, { t: t - 4999 }),
        plain(1.3, { t: t - 3999 }),
        plain(1.7, { t: t + 1 }),
      ],
      faults: [],
    });
  });

  it('adds the base value, and counts a small time from the receipt', () => {
    expect(read([{ n: 'temp', bu: 'Cel', bv: 20, v: 0.5, t: -2.5 }], room).readings).toEqual([
      plain(20.5, { t: null, offsetMs: -2500 }),
    ]);
  });

  it('turns volts and pascals into what the point is measured in', () => {
    const loop = { id: 'x', signal: 'millivolt' } as const;
    expect(read([{ n: 'x', u: 'V', v: 0.005269, t: t / 1000 }], loop).readings[0]?.v).toBeCloseTo(
      5.269,
      12,
    );
    const gauge = { id: 'x', signal: 'bar' } as const;
    expect(read([{ n: 'x', u: 'Pa', v: 1.6e7, t: t / 1000 }], gauge).readings[0]?.v).toBe(160);
  });

  it.each([
    [{ n: 'temp', u: 'K', v: 293 }, 'wrong-unit', '[0].u'],
    [{ n: 'humidity', u: 'Cel', v: 1 }, 'unknown-point', '[0].n'],
    [{ n: 'temp', u: 'Cel', vs: 'warm' }, 'missing-field', '[0].v'],
    [{ n: 'temp', u: 'Cel', v: '21' }, 'not-a-number', '[0].v'],
    [{ n: 'temp', bver: 11, v: 1 }, 'wrong-shape', '[0].bver'],
    [{ n: 'temp', v: 1, must_: 1 }, 'wrong-shape', '[0].must_'],
    [{ n: 'temp', v: 1, t: 'now' }, 'not-a-time', '[0].t'],
    [{ n: 'temp', v: 1, t: 60 }, 'not-a-time', '[0].t'],
  ])('sets aside %j', (record, code, field) => {
    expect(read([record], room)).toMatchObject({ readings: [], faults: [{ code, field }] });
  });
});

describe('an event', () => {
  const start = { t, event: 'load-start', load: 'P1-00231', lot: 'K-118', recipe: 'shell-13ply@4' };

  it('gives what is ours, and keeps the rest', () => {
    const text = JSON.stringify({ ...start, zones: ['left'], parts: ['K-118-01'], shift: 2 });
    expect(decodeEvent(text)).toEqual({
      event: 'load-start',
      earliestMs: t,
      latestMs: t,
      load: 'P1-00231',
      lot: 'K-118',
      recipe: 'shell-13ply@4',
      zones: ['left'],
      opening: null,
      parts: ['K-118-01'],
      by: null,
      more: { shift: 2 },
    });
  });

  it('takes an earliest and a latest time for one', () => {
    const text = JSON.stringify({ event: 'contact', earliest: t, latest: t + 2000 });
    expect(decodeEvent(text)).toMatchObject({ earliestMs: t, latestMs: t + 2000 });
  });

  it.each([
    [{ ...start, event: 'load-begin' }, 'unknown-event', 'event'],
    [{ ...start, t: undefined }, 'missing-field', 't'],
    [{ ...start, t: 'six' }, 'not-a-time', 't'],
    [{ event: 'open', earliest: t, latest: t - 1 }, 'not-a-time', 'latest'],
    [{ ...start, load: undefined }, 'missing-field', 'load'],
    [{ ...start, load: 7 }, 'wrong-shape', 'load'],
    [{ ...start, load: ' ' }, 'wrong-shape', 'load'],
    [{ ...start, lot: 'K'.repeat(121) }, 'wrong-shape', 'lot'],
    [{ ...start, recipe: 'Shell 13' }, 'unknown-recipe-shape', 'recipe'],
    [{ ...start, recipe: 'shell@0' }, 'unknown-recipe-shape', 'recipe'],
    [{ ...start, zones: 'left' }, 'wrong-shape', 'zones'],
    [{ ...start, zones: ['left', 3] }, 'wrong-shape', 'zones[1]'],
    [[start], 'wrong-shape', ''],
  ])('is refused: %j', (event, code, field) => {
    expect(decodeEvent(JSON.stringify(event))).toMatchObject({ code, field });
  });
});

describe('any payload at all', () => {
  const shape = fc.oneof(
    fc.string({ maxLength: 200 }),
    fc.json({ maxDepth: 6 }),
    fc.record({ t: fc.anything(), v: fc.anything() }, { requiredKeys: [] }).map(safeJson),
    fc.array(fc.record({ n: fc.string(), v: fc.anything(), t: fc.anything() })).map(safeJson),
    fc.nat(30_000).map((depth) => '['.repeat(depth) + ']'.repeat(depth)),
    fc
      .nat(30_000)
      .map((depth) => `{"t":${t},"event":"note","x":${'['.repeat(depth)}${']'.repeat(depth)}}`),
  );

  it('is read or refused with its reason, and what is read can be stored', () => {
    fc.assert(
      fc.property(shape, (text) => {
        const { readings, faults } = decodeReadings(text, celsius);
        for (const reading of readings) {
          expect(Number.isFinite(reading.v)).toBe(true);
          expect(reading.t === null || Number.isSafeInteger(reading.t)).toBe(true);
        }
        for (const fault of faults) expect(fault.found.length).toBeLessThanOrEqual(81);
        const event = decodeEvent(text);
        if ('code' in event) expect(event.expected).not.toBe('');
        else JSON.stringify(event);
      }),
      { numRuns: 3000, seed: 5 },
    );
  });
});

function safeJson(value: unknown): string {
  try {
    return JSON.stringify(value, (_, member: unknown) =>
      typeof member === 'bigint' ? String(member) : member,
    );
  } catch {
    return '{';
  }
}
