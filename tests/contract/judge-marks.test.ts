import { afterEach, expect, test } from 'vitest';
import type { LoadEnded, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { openWorks, startMs, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
afterEach(() => works.end());

const load = { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply' };

function sealedInput(): ScoreInput {
  const [sealed] = works.entries('load-sealed') as Entry<LoadSealed>[];
  return JSON.parse(works.document(sealed!.body.input)) as ScoreInput;
}

test('a mark before its load-start in one batch counts the same with and without a restart', () => {
  for (const restarts of [false, true]) {
    works = openWorks();
    works.together([
      ['pressure-on', { t: startMs + 20_000 }],
      ['load-start', { t: startMs, ...load }],
    ]);
    if (restarts) works.restart();
    works.press(24, usualFaceC);
    works.event('load-end', { load: 'P1-1' });
    works.press(0.5, () => 138);
    expect(sealedInput().marks.pressureOn).toEqual({
      earliestMs: startMs + 20_000,
      latestMs: startMs + 20_000,
    });
    if (!restarts) void works.end();
  }
});

test('contact before the load-start that stands for pressure-on is precure', () => {
  works = openWorks();
  works.event('contact', {}, startMs - 90_000);
  works.event('load-start', load);
  works.press(24, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  works.press(0.5, () => 138);
  expect(sealedInput().marks.contact?.earliestMs).toBe(startMs - 90_000);
});

test('a mark told after the load-end, before the seal, counts; of the load after it, it does not', () => {
  works = openWorks();
  works.event('load-start', load);
  works.press(24, usualFaceC);
  const endMs = works.clock.nowMs();
  works.event('load-end', { load: 'P1-1' });
  works.clock.advance(5000);
  works.event('release-start', {}, endMs - 30_000);
  works.event('open', {}, endMs + 5000);
  works.clock.advance(60_000);
  works.event('load-start', { ...load, load: 'P1-2' });
  works.event('contact', {}, works.clock.nowMs());
  works.clock.advance(60_000);
  works.collector.step();
  works.restart();
  works.collector.step();
  const { marks } = sealedInput();
  expect(marks.releaseStart).toEqual({ earliestMs: endMs - 30_000, latestMs: endMs - 30_000 });
  expect(marks.open?.earliestMs).toBe(endMs + 5000);
  expect(marks.contact).toBeNull();
  const [ended] = works.entries('load-ended') as Entry<LoadEnded>[];
  expect(ended?.body.marks.releaseStart?.assumed).toBe(true);
});

test('an event with too many part names is refused by its field, and the collector goes on', () => {
  works = openWorks();
  const parts = Array.from({ length: 600 }, (_, i) => `K-1-${String(i).padStart(60, '0')}`);
  works.event('load-start', { ...load, parts });
  const [call] = works.entries('call-raised');
  expect(call?.body).toMatchObject({
    kind: 'event-refused',
    values: { field: 'parts', code: 'too-long' },
  });
  works.event('load-start', load);
  expect(works.entries('load-opened')).toHaveLength(1);
});

test('what is said of a quiet load is written a few times, not at every look', () => {
  works = openWorks();
  works.event('load-start', load);
  works.press(24, usualFaceC);
  const said = works.entries('advice-changed').map(({ at, body }) => ({ at, ...(body as object) }));
  expect(said.length).toBeLessThanOrEqual(10);
  const minutes = said.map(({ at }) => Math.floor((at - startMs) / 60_000));
  const words = new Set(said.map((each) => JSON.stringify((each as { say?: string }).say)));
  expect(words).toEqual(new Set(['"wait"', '"proven"']));
  expect(new Set(minutes).size).toBe(minutes.length);
});
