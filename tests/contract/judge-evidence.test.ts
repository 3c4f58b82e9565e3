import type { LoadOpened, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { openWorks, startMs, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
beforeEach(() => {
  works = openWorks();
});
afterEach(() => works.end());

const load = { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' };

test('what was said of a lot before and during its load is in the record, by value', () => {
  works.event('moisture', { lot: 'K-118', pct: 9.2, expandedPct: 0.5, note: 'not ours' });
  works.event('moisture', { lot: 'K-119', pct: 14 });
  works.event('assembled', { lot: 'K-118', batch: 'FB-19', madeAt: '2026-01-12T06:00:00Z' });
  works.clock.advance(10 * 60_000);
  works.event('load-start', load);
  const opened = works.entries('load-opened')[0]?.body as LoadOpened;
  expect(opened.events?.map(({ event, numbers }) => [event, numbers])).toEqual([
    ['assembled', { madeMs: Date.parse('2026-01-12T06:00:00Z') }],
    ['moisture', { pct: 9.2, expandedPct: 0.5 }],
  ]);
  works.press(2, usualFaceC);
  works.event('piece-temperature', { load: 'P1-1', tempC: 21 });
  works.event('piece-temperature', { load: 'P1-9', tempC: 5 });
  works.restart();
  works.press(22, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  works.clock.advance(121_000);
  works.collector.step();
  const sealed = works.entries('load-sealed')[0]?.body as LoadSealed;
  const input = JSON.parse(works.document(sealed.input)) as ScoreInput;
  expect(input.events?.map(({ event, earliestMs }) => [event, earliestMs])).toEqual([
    ['assembled', startMs],
    ['moisture', startMs],
    ['piece-temperature', startMs + 12 * 60_000],
  ]);
});

test('after a restart, what was said before it is known to the load that opens then', () => {
  works.event('moisture', { lot: 'K-118', pct: 9.2 });
  works.restart();
  works.event('load-start', load);
  expect((works.entries('load-opened')[0]?.body as LoadOpened).events).toHaveLength(1);
});
