import { scoreModel } from '@setwell/collector/judge/score-model';
import type { RawReading } from '@setwell/shared-models/score/readings';
import { scoreReadings } from '@setwell/shared-models/score/score';
import { expect, test } from 'vitest';
import { openLoad, platenC, pressLoad, readingsOf } from '../fixtures/press-load.ts';

const all = readingsOf({ ul: platenC, ll: platenC }, 300, 5);
const byPointAndTime = (a: RawReading, b: RawReading) =>
  a.point === b.point ? a.tMs - b.tMs : a.point < b.point ? -1 : 1;

/** Looks at a load that has so much of it by then, and holds each look against the whole. */
function looks(known: (nowMs: number) => RawReading[], more = {}) {
  const opened = openLoad(pressLoad(10), 0);
  for (let nowMs = 10_000; nowMs <= 300_000; nowMs += 10_000) {
    const input = { ...opened, ...more, asOfMs: nowMs };
    const readings = known(nowMs).sort(byPointAndTime);
    const { result } = scoreModel.judge(input, readings);
    expect(JSON.stringify(result)).toBe(JSON.stringify(scoreReadings(input, readings)));
  }
}

test('an open load judged look by look says what its whole set of readings says', () => {
  looks((nowMs) => all.filter(({ tMs }) => tMs <= nowMs));
});

test('a reading that comes late is where it belongs', () => {
  const late = new Set(all.filter((_, i) => i % 7 === 3));
  looks((nowMs) => all.filter((each) => each.tMs + (late.has(each) ? 60_000 : 0) <= nowMs));
});

test('a reading taken out again by its twin is gone from all that followed', () => {
  const gone = all[20];
  looks((nowMs) => all.filter((each) => each.tMs <= nowMs && (each !== gone || nowMs < 200_000)));
});

test('a mark that moves begins the load anew', () => {
  looks((nowMs) => all.filter(({ tMs }) => tMs <= nowMs));
  const marks = {
    contact: { earliestMs: 0, latestMs: 5000 },
    pressureOn: { earliestMs: 20_000, latestMs: 25_000 },
    releaseStart: null,
    open: null,
  };
  looks((nowMs) => all.filter(({ tMs }) => tMs <= nowMs), { marks });
});
