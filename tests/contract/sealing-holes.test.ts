import { afterEach, beforeEach, expect, test } from 'vitest';
import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
beforeEach(() => {
  works = openWorks();
});
afterEach(() => works.end());

/** Both faces for so many seconds, every 5 s, with the device's own numbers, but for those left out. */
function press(seconds: number, leftOut: number[] = []): void {
  for (let s = 0; s <= seconds; s += 5) {
    for (const face of ['p1-ul', 'p1-ll']) {
      if (face === 'p1-ul' && leftOut.includes(s / 5)) continue;
      say(face, works.clock.nowMs(), s / 5);
    }
    works.clock.advance(5000);
  }
}

function say(face: string, t: number, seq: number): void {
  const payload = Buffer.from(JSON.stringify({ t, v: usualFaceC(seq / 12), seq }));
  const handed = { retained: false, queued: false, act: null };
  works.collector.accept([{ topic: `plant/press-1/${face}`, payload, ...handed }]);
}

const sealed = () => works.entries('load-sealed').map(({ body }) => body as LoadSealed);

/** A load of two minutes in which three of a face's messages have not come. */
function loadWithHole(): number {
  const startMs = works.clock.nowMs();
  works.event('load-start', { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply' });
  press(130, [10, 11, 12]);
  works.event('load-end', { load: 'P1-1' }, startMs + 120_000);
  works.collector.step();
  return startMs;
}

test('a load is not sealed while a number of its devices is missing, and is when it has come', () => {
  const startMs = loadWithHole();
  expect(sealed()).toEqual([]);
  for (const seq of [10, 11, 12]) say('p1-ul', startMs + seq * 5000, seq);
  works.collector.step();
  expect(sealed()).toMatchObject([{ sealedBy: 'complete', silent: [] }]);
});

test('what never comes holds a record up to its deadline, and is named in it', () => {
  loadWithHole();
  works.clock.advance(121_000);
  works.collector.step();
  expect(sealed()).toMatchObject([{ sealedBy: 'deadline', silent: ['p1-ul'] }]);
});
