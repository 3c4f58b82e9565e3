import { expect, test } from 'vitest';
import { namedLoad, stationAdvice } from '@setwell/collector/advice/station-advice';
import type { Judgement } from '@setwell/shared-models/api/collector';
import type { Say } from '@setwell/shared-models/record/bodies';

const nowMs = Date.parse('2026-03-02T08:40:00Z');

function judged(load: string, say: Say, provenInMin: number | null, overInMin: number | null) {
  const at = (min: number | null) => (min === null ? null : nowMs + min * 60_000);
  return {
    load,
    say,
    state: 'open',
    verdict: say === 'proven' ? 'in-window' : 'under',
    side: say === 'proven' ? null : 'short',
    forecast: { provenAtMs: at(provenInMin), overAtMs: at(overInMin) },
    places: [{ zone: 'left', glueLine: 6 }],
    blindSinceMs: null,
    asOfMs: nowMs,
    readUpToMs: nowMs - 4_000,
  } as unknown as Judgement;
}

const ready = judged('ready', 'proven', 0, 30);
const soon = judged('soon', 'wait', 3, null);
const later = judged('later', 'wait', 9, null);

test.each([
  ['nothing', [], 'press', null],
  [
    'a proven load beside a waiting one in a press: the closing waits',
    [ready, soon],
    'press',
    'soon',
  ],
  ['two that wait in a press: the last one decides', [soon, later], 'press', 'later'],
  ['a proven load in a rack is due now', [soon, ready], 'rack', 'ready'],
  ['two that wait in a rack: the first one due', [later, soon], 'rack', 'soon'],
  ['too long goes first', [ready, judged('burnt', 'too-long', null, 0)], 'rack', 'burnt'],
  [
    'one that needs a decision hides one that waits',
    [soon, judged('odd', 'ask', null, null)],
    'press',
    'odd',
  ],
] as const)('%s', (_what, judgements, kind, load) => {
  expect(namedLoad([...judgements], kind)?.load ?? null).toBe(load);
});

test('an ended load is advised on no more', () => {
  expect(namedLoad([{ ...ready, state: 'ended' }], 'press')).toBeNull();
});

test('seconds to go are rounded up and never negative; no load says none', () => {
  const parts = { collector: 'c1', n: 7, nowMs: nowMs + 500, late: false };
  expect(stationAdvice(soon, parts)).toMatchObject({
    advisory: true,
    n: 7,
    validForS: 15,
    collector: 'c1',
    load: 'soon',
    dataSince: nowMs - 4_000,
    state: 'open',
    verdict: 'under',
    side: 'short',
    say: 'wait',
    provenInS: 180,
    overInS: null,
    worst: { zone: 'left', glueLine: 6 },
  });
  expect(stationAdvice(ready, parts)).toMatchObject({ provenInS: 0, overInS: 1800 });
  expect(stationAdvice(null, parts)).toMatchObject({ say: 'none', load: null, verdict: null });
});
