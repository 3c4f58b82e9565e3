import { describe, expect, it } from 'vitest';
import { forecast } from '@setwell/shared-models/forecast/forecast';
import { foldLoad } from '@setwell/shared-models/score/fold';
import type { RawReading } from '@setwell/shared-models/score/readings';
import { scoreReadings } from '@setwell/shared-models/score/score';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { openLoad, pressLoad, readingsOf, shellRecipe } from '../fixtures/press-load.ts';

const minute = 60_000;
const held = () => 138;

function lookingAhead(input: ScoreInput, readings: RawReading[], asOfMs: number) {
  const open = openLoad(input, asOfMs);
  const ahead = forecast(open, foldLoad(open, readings), asOfMs);
  if (ahead === null) throw new Error('nothing to look ahead from');
  return ahead;
}

describe('forecast of an open load', () => {
  const input = pressLoad(60);

  it('readings that go on as they are prove the load when it was foretold, to a step', () => {
    const { provenAtMs } = lookingAhead(
      input,
      readingsOf({ ul: held, ll: held }, 600),
      10 * minute,
    );
    if (provenAtMs === null) throw new Error('never proven');
    const verdictAt = (ms: number) =>
      scoreReadings(openLoad(input, ms), readingsOf({ ul: held, ll: held }, ms / 1000)).verdict;
    expect(verdictAt(provenAtMs - 10_000)).not.toBe('in-window');
    expect(verdictAt(provenAtMs + 10_000)).toBe('in-window');
  });

  it('points that read once a minute are foretold with what a minute leaves open', () => {
    const sparse = readingsOf({ ul: held, ll: held }, 600, 60);
    const { provenAtMs } = lookingAhead(input, sparse, 10 * minute);
    if (provenAtMs === null) throw new Error('never proven');
    const verdictAt = (ms: number) =>
      scoreReadings(openLoad(input, ms), readingsOf({ ul: held, ll: held }, ms / 1000, 60)).verdict;
    expect(verdictAt(provenAtMs - 2 * minute)).not.toBe('in-window');
    expect(verdictAt(provenAtMs + 2 * minute)).toBe('in-window');
  });

  it('a silent face opens what is foretold, from readings as before to silence for good', () => {
    const both = readingsOf({ ul: held, ll: held }, 900);
    const silent = both.filter(({ point, tMs }) => point === 'ul' || tMs <= 13 * minute);
    const all = lookingAhead(input, both, 15 * minute);
    const some = lookingAhead(input, silent, 15 * minute);
    expect(all.provenEarliestMs).toBe(all.provenLatestMs);
    expect(some.provenEarliestMs).toBeGreaterThanOrEqual(all.provenEarliestMs ?? NaN);
    expect(some.provenLatestMs ?? Infinity).toBeGreaterThan(all.provenLatestMs ?? NaN);
    expect(some.atPlan?.low).toBeLessThan((all.atPlan?.low ?? NaN) - 0.5);
    expect(some.atPlan?.high).toBeGreaterThan((all.atPlan?.high ?? NaN) + 0.5);
    // It may speak again: nobody is told that waiting is of no use.
    expect(some.waitingHelps).toBe(true);
  });

  it('a glue line over its ceiling earns low nothing ahead, as it earns nothing now', () => {
    const recipe = { ...shellRecipe, law: { ...shellRecipe.law, validC: [105, 135] } };
    const hot = { ...input, recipe: recipe as typeof shellRecipe };
    const ahead = lookingAhead(hot, readingsOf({ ul: held, ll: held }, 900), 15 * minute);
    expect(ahead.provenAtMs).toBeNull();
    expect(ahead.waitingHelps).toBe(false);
    const below = { ...input, recipe: { ...shellRecipe, law: { ...shellRecipe.law } } };
    expect(
      lookingAhead(below, readingsOf({ ul: held, ll: held }, 900), 15 * minute).waitingHelps,
    ).toBe(true);
  });
});
