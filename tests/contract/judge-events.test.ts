import { afterEach, beforeEach, expect, test } from 'vitest';
import type { CallRaised, LoadOpened } from '@setwell/shared-models/record/bodies';
import { openWorks, startMs, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
beforeEach(() => {
  works = openWorks();
});
afterEach(() => works.end());

function refusals(): [string, unknown][] {
  return works
    .entries('call-raised')
    .map(({ body }) => body as CallRaised)
    .filter(({ kind }) => kind === 'event-refused')
    .map(({ values }) => [String(values['field']), values['code']]);
}

const load = { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' };

test('an end without a start, and before its start, opens nothing and calls somebody', async () => {
  works.event('load-end', { load: 'P1-1' });
  works.event('load-start', load);
  works.event('load-end', { load: 'P1-1' }, startMs - 60_000);
  expect(refusals()).toEqual([
    ['load', 'no-such-load'],
    ['t', 'end-before-start'],
  ]);
  expect(works.entries('load-ended')).toEqual([]);
  expect(await works.collector.metrics.registry.metrics()).toContain(
    'setwell_events_refused_total{code="end-before-start"} 1',
  );
});

test('a second load in an occupied zone is refused; the first goes on', () => {
  works.event('load-start', load);
  works.event('load-start', { ...load, load: 'P1-2' });
  expect(refusals()).toEqual([['zones', 'occupied']]);
  expect(works.entries('load-opened')).toHaveLength(1);
});

test('a controller that says the same wrong thing all day calls once', () => {
  for (let i = 0; i < 20; i += 1) {
    works.clock.advance(1000);
    works.event('load-end', { load: `P1-${String(i)}` });
  }
  expect(refusals()).toHaveLength(1);
});

test('the same start said twice is one load', () => {
  works.event('load-start', { ...load, by: 'plc-1' });
  works.event('load-start', { ...load, by: 'plc-2' }, startMs);
  expect(works.entries('load-opened')).toHaveLength(1);
  expect(refusals()).toEqual([]);
});

test('a start that comes late opens the load back in time', () => {
  works.clock.advance(5 * 60_000);
  works.event('load-start', load, startMs);
  const [opened] = works.entries('load-opened');
  expect((opened?.body as LoadOpened).marks.pressureOn.earliestMs).toBe(startMs);
  expect((opened?.body as LoadOpened).plannedEndMs).toBe(startMs + 24 * 60_000);
});

test('without a recipe the readings are kept, nothing is judged, and somebody is asked which lot', () => {
  works.event('load-start', { load: 'P1-1' });
  expect(works.entries('load-opened')[0]?.body as LoadOpened).toMatchObject({
    recipe: null,
    lot: '',
  });
  const [call] = works.entries('call-raised');
  expect(call?.body as CallRaised).toMatchObject({ kind: 'which-lot', who: 'shift-lead' });
});

test('a disposition answers a held load across a restart that came between', () => {
  works.event('load-start', load);
  works.clock.advance(60_000);
  works.event('load-end', { load: 'P1-1' });
  works.clock.advance(121_000);
  works.collector.step();
  const held = works.entries('call-raised').at(-1);
  expect(held?.body as CallRaised).toMatchObject({ load: 'P1-1' });
  works.collector.append([
    {
      kind: 'disposition',
      by: 'R. Voss',
      about: { load: 'P1-1', lots: ['K-118'] },
      body: { decision: 'scrap', reason: 'never pressed' },
    },
  ]);
  works.restart();
  works.collector.step();
  const cleared = works
    .entries('call-cleared')
    .filter(({ about }) => about.call === held?.about.call);
  expect(cleared).toHaveLength(1);
  expect(cleared[0]?.body).toEqual({ because: 'decided' });
  works.restart();
  works.collector.step();
  expect(
    works.entries('call-cleared').filter(({ about }) => about.call === held?.about.call),
  ).toHaveLength(1);
});
