import { afterEach, beforeEach, expect, test } from 'vitest';
import type { CallRaised, LoadEnded } from '@setwell/shared-models/record/bodies';
import { openWorks, startMs, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
beforeEach(() => {
  works = openWorks();
});
afterEach(() => works.end());

const load = { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' };
const often = (count: number, say: (i: number) => void) => {
  for (let i = 0; i < count; i += 1) say(i);
};
const longText = 'x'.repeat(120);

/** What any equipment of a station may send, and what the ledger could not write as it stands. */
const hostile: [string, () => void][] = [
  ['half of a surrogate pair as a load', () => works.event('load-start', { load: '\ud800' })],
  ['the same in a refused end', () => works.event('load-end', { load: '\udc00' })],
  [
    'the same as a measurement’s batch',
    () => works.event('mix', { lot: 'K-118', batch: '\udc00' }),
  ],
  ['the same in the name of a member', () => works.event('mix', { lot: 'K-118', '\ud83d': 1 })],
  [
    'names that are long in bytes',
    () =>
      works.event('load-start', { ...load, load: 'P1-9', parts: Array(700).fill('漢'.repeat(30)) }),
  ],
  [
    'a hundred wordy measurements before a load',
    () =>
      often(100, (i) =>
        works.event(
          'mix',
          { lot: 'K-118', mix: longText, batch: longText, method: longText, part: `${i}` },
          startMs - 1000 * (i + 1),
        ),
      ),
  ],
];

test.each(hostile)(
  '%s stops nothing: the next load opens and ends, also after a restart',
  (_, say) => {
    say();
    works.restart();
    works.event('load-start', load);
    works.clock.advance(60_000);
    works.event('load-end', { load: 'P1-1' });
    expect(works.entries('load-opened').map(({ about }) => about.load)).toEqual(['P1-1']);
    expect(works.entries('load-ended')).toHaveLength(1);
  },
);

test('measurements of a load that its record has no room for are not used, and somebody is told once', () => {
  works.event('load-start', load);
  const said = 700;
  const events = Array.from({ length: said }, (_, i): [string, object] => [
    'piece-temperature',
    { t: startMs + 1000 * (i + 1), tempC: 21 + i / 1000 },
  ]);
  works.clock.advance(1000 * said);
  works.together(events);
  works.clock.advance(60_000);
  works.event('load-end', { load: 'P1-1' });
  const [ended] = works.entries('load-ended').map(({ body }) => body as LoadEnded);
  const used = ended?.events ?? [];
  expect(used.length).toBeGreaterThan(300);
  expect(used.length).toBeLessThan(said);
  expect(used.at(-1)?.earliestMs).toBe(startMs + 1000 * used.length);
  const called = works.entries('call-raised').map(({ body }) => (body as CallRaised).values);
  expect(called.filter(({ code }) => code === 'too-much')).toMatchObject([
    { event: 'piece-temperature', found: 'more for P1-1' },
  ]);
});
