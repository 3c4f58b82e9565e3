import { randomUUID } from 'node:crypto';
import type {
  InstrumentFitted,
  InstrumentRemoved,
  LoadSealed,
} from '@setwell/shared-models/record/bodies';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import { afterEach, expect, test } from 'vitest';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
afterEach(() => works.end());

const load = { load: 'P1-00231', lot: 'K-118', recipe: 'shell-13ply' };

const certificate = (name: string, date: string, correctionK: number) => ({
  certificate: name,
  date,
  due: `2028${date.slice(4)}`,
  k: 2,
  points: [
    { atC: 20, correctionK, expandedK: 0.5 },
    { atC: 160, correctionK, expandedK: 0.5 },
  ],
});

const probe = {
  id: 'pt-0412',
  serial: 'S-0412',
  element: { type: 'Pt100', class: 'A', standard: 'IEC 60751' },
  calibrations: [certificate('C-0412', '2026-02-20', -0.8)],
};

/** Both faces after so many minutes; the upper one is off by so much after its change. */
function pressOn(minutes: number, fromMin: number, upperK: number | null): void {
  works.press(minutes, (min) => {
    const c = usualFaceC(fromMin + min);
    return upperK === null ? null : Math.round(10 * (c + upperK)) / 10;
  });
}

function record(): { body: LoadSealed; input: ScoreInput; result: ScoreResult } {
  const body = works.entries('load-sealed').at(-1)?.body as LoadSealed;
  const input = JSON.parse(works.document(body.input)) as ScoreInput;
  return { body, input, result: JSON.parse(works.document(body.result)) as ScoreResult };
}

function changeInMidLoad(): void {
  works = openWorks();
  works.event('load-start', load);
  pressOn(10, 0, 0);
  works.event('instrument-removed', { point: 'p1-ul', reason: 'drifts' });
  pressOn(3, 10, null);
  works.event('instrument-fitted', {
    point: 'p1-ul',
    instrument: probe,
    proof: { how: 'warmed-by-hand', note: '' },
  });
}

test('a probe changed in mid-load, three minutes missing: gap priced, two certificates in one record', () => {
  changeInMidLoad();
  pressOn(11, 13, 0);
  works.event('load-end', { load: 'P1-00231' });
  pressOn(0.5, 24, 0);
  const { input, result, body } = record();
  const upper = input.sensors['p1-ul'];
  expect(upper?.certificate).toBe('C-1');
  expect(upper?.changes?.map(({ sensor }) => sensor?.certificate ?? null)).toEqual([
    null,
    'C-0412',
  ]);
  expect(result.quality.seams?.map(({ before, after }) => [before, after])).toEqual([
    [{ instrument: 'p1-ul', certificate: 'C-1' }, null],
    [null, { instrument: 'pt-0412', certificate: 'C-0412' }],
  ]);
  expect(result.budget.find(({ term }) => term === 'gap')?.down).toBeGreaterThan(0.05);
  expect(body.quality.gaps).toBeGreaterThan(0);
  // The lower face was away too, its instrument was not changed.
  expect(input.sensors['p1-ll']).not.toHaveProperty('changes');
});

test('a restart between the two changes nothing of the record', async () => {
  changeInMidLoad();
  pressOn(11, 13, 0);
  works.event('load-end', { load: 'P1-00231' });
  pressOn(0.5, 24, 0);
  const whole = record().body;
  await works.end();
  changeInMidLoad();
  works.restart();
  pressOn(11, 13, 0);
  works.restart();
  works.event('load-end', { load: 'P1-00231' });
  pressOn(0.5, 24, 0);
  expect(record().body.input.sha256).toBe(whole.input.sha256);
  expect(record().body.result.sha256).toBe(whole.result.sha256);
  expect(works.entries('instrument-fitted')).toHaveLength(1);
});

test('who, what and when stand in the ledger; the next load rests on the new one alone', () => {
  changeInMidLoad();
  pressOn(11, 13, 0);
  works.event('load-end', { load: 'P1-00231' });
  pressOn(3, 24, 0);
  const [removed] = works.entries('instrument-removed');
  expect(removed?.body as InstrumentRemoved).toMatchObject({
    point: 'p1-ul',
    instrument: 'p1-ul',
    reason: 'drifts',
  });
  expect(removed?.about).toEqual({ station: 'press-1', sensor: 'p1-ul' });
  const [fitted] = works.entries('instrument-fitted');
  expect((fitted?.body as InstrumentFitted).instrument).toEqual(probe);
  works.event('load-start', { ...load, load: 'P1-00232' });
  pressOn(24, 0, 0);
  works.event('load-end', { load: 'P1-00232' });
  pressOn(0.5, 24, 0);
  expect(record().input.sensors['p1-ul']).toMatchObject({
    instrument: 'pt-0412',
    certificate: 'C-0412',
    corrections: [{ correctionK: -0.8 }, { correctionK: -0.8 }],
  });
});

test.each([
  [
    'a point of another station',
    { point: 'ra-1', instrument: probe },
    { field: 'point', code: 'unknown-point', found: 'ra-1' },
  ],
  [
    'an instrument nobody knows',
    { point: 'p1-ul', instrument: 'pt-9999' },
    { field: 'instrument', code: 'unknown-instrument', found: 'pt-9999' },
  ],
  [
    'a certificate of one point',
    {
      point: 'p1-ul',
      instrument: {
        ...probe,
        calibrations: [
          { ...probe.calibrations[0], points: [{ atC: 100, correctionK: 0, expandedK: 0.1 }] },
        ],
      },
    },
    { field: 'instrument.calibrations.0.points', code: 'wrong-shape', found: 'one point, 100 °C' },
  ],
  [
    'certificates that vouch for one day together',
    {
      point: 'p1-ul',
      instrument: {
        ...probe,
        calibrations: [
          certificate('C-1', '2025-01-01', 0),
          { ...certificate('C-2', '2026-01-01', 0), due: '2026-06-01' },
        ],
      },
    },
    { field: 'instrument.calibrations.1.due', code: 'wrong-shape' },
  ],
])('%s is refused by its field, and somebody is called', (_name, more, expected) => {
  works = openWorks();
  works.event('instrument-fitted', more);
  expect(works.entries('instrument-fitted')).toEqual([]);
  const [call] = works.entries('call-raised');
  expect((call?.body as { values: object }).values).toMatchObject(expected);
});

/** An act straight to the collector. */
const acted = (kind: string, body: object) => {
  const [entry] = works.collector.append([
    { kind: kind as 'wire-proven', by: 'p-17', about: {}, body, act: randomUUID() },
  ]);
  return entry;
};

test('another point stands in by approval: its readings, the offset, both doubts, until its end', () => {
  works = openWorks();
  works.event('load-start', load);
  pressOn(8, 0, 0);
  acted('fallback-approved', {
    point: 'p1-ul',
    standsIn: 'p1-ll',
    fromMs: works.clock.nowMs(),
    untilMs: works.clock.nowMs() + 3_600_000,
    offsetK: -1.5,
    expandedK: 2,
    reason: 'cable cut',
  });
  pressOn(16, 8, 0);
  works.event('load-end', { load: 'P1-00231' });
  pressOn(0.5, 24, 0);
  const { input, result } = record();
  expect(input.sensors['p1-ul']?.changes?.[0]?.sensor).toMatchObject({
    readsFrom: 'p1-ll',
    certificate: 'C-2',
    corrections: [{ correctionK: -1.5 }, { correctionK: -1.5 }],
    expandedK: Math.sqrt(0.25 + 4),
  });
  expect(result.quality.gaps).toEqual([]);
});

test('a certificate found later does not touch a load that has started', () => {
  works = openWorks();
  works.event('load-start', load);
  pressOn(12, 0, 0);
  acted('instrument-calibrated', {
    instrument: 'p1-ul',
    calibration: certificate('C-9', '2026-03-02', 2),
  });
  pressOn(12, 12, 0);
  works.event('load-end', { load: 'P1-00231' });
  pressOn(0.5, 24, 0);
  expect(record().input.sensors['p1-ul']?.certificate).toBe('C-1');
  works.event('load-start', { ...load, load: 'P1-00232' });
  pressOn(24, 0, 0);
  works.event('load-end', { load: 'P1-00232' });
  pressOn(0.5, 24, 0);
  expect(record().input.sensors['p1-ul']?.certificate).toBe('C-9');
});
