import { afterEach, expect, test, vi } from 'vitest';
import type { CallRaised, LoadEnded, LoadSealed } from '@setwell/shared-models/record/bodies';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

// A load is computed a few dozen times; on a busy machine that takes its time.
vi.setConfig({ testTimeout: 60_000 });

let works: Works;
afterEach(() => works.end());

const load = { load: 'P1-00231', lot: 'K-118', recipe: 'shell-13ply' };
const end = { load: 'P1-00231' };

/** Ids of calls that are raised and not cleared. */
function callsUp(): string[] {
  const up = new Set<string>();
  for (const { kind, about } of works.entries()) {
    if (kind === 'call-raised') up.add(about.call ?? '');
    if (kind === 'call-cleared') up.delete(about.call ?? '');
  }
  return [...up];
}

function said(): string[] {
  return works.entries('advice-changed').map(({ body }) => (body as { say: string }).say);
}

test('24 minutes at 138 °C: in window, decided by the middle glue line', () => {
  works = openWorks();
  works.event('load-start', load);
  works.press(24, usualFaceC);
  works.event('load-end', end);
  works.press(0.5, () => 138);
  const [sealed] = works.entries('load-sealed');
  const body = sealed?.body as LoadSealed;
  expect(body).toMatchObject({
    verdict: 'in-window',
    side: null,
    sealedBy: 'complete',
    silent: [],
  });
  expect(body.worst).toMatchObject({ zone: 'left', glueLine: 6 });
  expect(body.endMs - body.startMs).toBe(24 * 60_000);
  expect(callsUp()).toEqual([]);
  expect(said().at(0)).toBe('wait');
  expect(said().at(-1)).toBe('proven');
});

test('12 minutes: short at the plan is nobody told of, for the plan is 24; ended short is', () => {
  works = openWorks();
  works.event('load-start', load);
  works.press(12, usualFaceC);
  expect(new Set(said())).toEqual(new Set(['wait']));
  expect(callsUp()).toEqual([]);
  works.event('load-end', end);
  works.press(0.5, () => 138);
  expect(works.entries('load-ended')[0]?.body as LoadEnded).toMatchObject({ verdict: 'under' });
  expect(works.entries('load-sealed')[0]?.body as LoadSealed).toMatchObject({
    verdict: 'under',
    side: 'short',
  });
  expect(callsUp()).toEqual(['ended-short.P1-00231']);
  const [raised] = works.entries('call-raised');
  expect(raised?.body as CallRaised).toMatchObject({ who: 'shift-lead', load: 'P1-00231' });
  works.collector.append([
    {
      kind: 'disposition',
      by: 'R. Voss',
      about: { load: 'P1-00231', lots: ['K-118'] },
      body: { decision: 'hold', reason: 'test piece first' },
    },
  ]);
  works.collector.step();
  expect(callsUp()).toEqual([]);
});

test('platens 8 K low: the plan is short, said while it can still be helped, and taken back when proven', () => {
  works = openWorks();
  works.event('load-start', load);
  works.press(20, (min) => usualFaceC(min) - 8);
  expect(callsUp()).toEqual(['short-at-plan.P1-00231']);
  const [call] = works.entries('call-raised');
  const { values, tooLateMs } = call?.body as CallRaised;
  expect(tooLateMs).toBe(Number(call?.about.startMs) + 24 * 60_000);
  expect(values['longerMin']).toBeGreaterThan(0);
  works.press(9, () => 130);
  expect(callsUp()).toEqual([]);
  expect(said().at(-1)).toBe('proven');
});

test('taken out before it was proven: the call to wait goes with the load, however soon it is sealed', () => {
  works = openWorks();
  works.event('load-start', load);
  works.press(20, (min) => usualFaceC(min) - 8);
  expect(callsUp()).toEqual(['short-at-plan.P1-00231']);
  works.event('load-end', end);
  works.press(0.5, () => 138);
  expect(works.entries('load-sealed')).toHaveLength(1);
  expect(callsUp()).toEqual(['ended-short.P1-00231']);
});

test('a silent upper face: blind, a call for maintenance, and no proof from nothing', () => {
  works = openWorks();
  works.event('load-start', load);
  works.press(6, usualFaceC);
  const stoppedMs = works.clock.nowMs() - 5000;
  works.press(6, () => null);
  const [judgement] = works.collector.judgements();
  expect(judgement?.blindSinceMs).toBe(stoppedMs);
  expect(callsUp()).toEqual(
    expect.arrayContaining([
      `sensor-silent.p1-ll.${String(stoppedMs)}`,
      `sensor-silent.p1-ul.${String(stoppedMs)}`,
    ]),
  );
  works.press(1, () => 138);
  expect(callsUp().filter((id) => id.startsWith('sensor-silent'))).toEqual([]);
});

test('the deadline seals what the sensors left open, and names them', () => {
  works = openWorks();
  works.event('load-start', load);
  works.press(24, usualFaceC);
  works.event('load-end', end);
  works.press(1.9, () => null);
  expect(works.entries('load-sealed')).toEqual([]);
  works.press(0.5, () => null);
  expect(works.entries('load-sealed')[0]?.body as LoadSealed).toMatchObject({
    sealedBy: 'deadline',
    silent: ['p1-ul', 'p1-ll'],
  });
});

test('a restart in mid-load changes nothing of what is sealed', async () => {
  const digests = [];
  for (const restarts of [0, 3]) {
    works = openWorks();
    works.event('load-start', load);
    for (let part = 0; part <= restarts; part += 1) {
      if (part > 0) works.restart();
      const from = (part * 24) / (restarts + 1);
      works.press(24 / (restarts + 1), (min) => usualFaceC(from + min));
    }
    works.event('load-end', end);
    if (restarts > 0) works.restart();
    works.press(0.5, () => 138);
    const sealed = works.entries('load-sealed');
    expect(sealed).toHaveLength(1);
    const { input, readings, result } = sealed[0]?.body as LoadSealed;
    digests.push([input.sha256, readings.sha256, result.sha256]);
    expect(works.entries('load-opened')).toHaveLength(1);
    if (restarts === 0) await works.end();
  }
  expect(digests[1]).toEqual(digests[0]);
});
