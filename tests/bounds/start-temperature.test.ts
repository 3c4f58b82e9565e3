import { describe, expect, it } from 'vitest';
import { openLive } from '@setwell/shared-models/score/live';
import { canonicalReadings, type RawReading } from '@setwell/shared-models/score/readings';
import { score, scoreReadings } from '@setwell/shared-models/score/score';
import type { ScoredSensor, ScoreInput } from '@setwell/shared-models/score/shape';
import {
  faceSensor,
  openLoad,
  platenC,
  pressLoad,
  readingsOf,
  shellRecipe,
  thirteenPlies,
} from '../fixtures/press-load.ts';

const minute = 60_000;

const dock: ScoredSensor = {
  ...faceSensor,
  expandedK: 0.4,
  plausible: { minC: -20, maxC: 60, maxRateKPerMin: 10 },
};

/** The press load of the other tests, its start temperature read at the dock. */
function docked(changed: Partial<ScoreInput> = {}): ScoreInput {
  return pressLoad(20, {
    recipe: { ...shellRecipe, layup: { ...thirteenPlies, initialC: { point: 'dock-1' } } },
    sensors: { ul: faceSensor, ll: faceSensor, 'dock-1': dock },
    ...changed,
  });
}

const faces = readingsOf({ ul: platenC, ll: platenC }, 1200);
const read = (ageMin: number, value: number): RawReading => ({
  point: 'dock-1',
  tMs: -ageMin * minute,
  value,
});

function scored(rows: RawReading[], input = docked()) {
  return score(input, canonicalReadings([...faces, ...rows]));
}

describe('a start temperature read at a point', () => {
  const sixth = (rows: RawReading[]) => {
    const place = scored(rows).places[5];
    if (place === undefined) throw new Error('no sixth line');
    return place;
  };

  it('is the temperature a recipe would state', () => {
    const stated = pressLoad(20, {
      recipe: { ...shellRecipe, layup: { ...thirteenPlies, initialC: 31 } },
    });
    const known = scoreReadings(stated, faces).places[5];
    expect(sixth([read(0, 31)]).nominal).toBe(known?.nominal);
    // A board ten kelvins warmer is hot sooner.
    expect(sixth([read(0, 31)]).nominal).toBeGreaterThan(sixth([read(0, 21)]).nominal + 0.2);
  });

  it('older readings say less, and none nothing but what is plausible', () => {
    const widths = [[read(1, 20)], [read(8, 20)], [read(30, 20)], []].map((rows) => {
      const { low, high } = sixth(rows);
      return high - low;
    });
    expect(widths).toEqual([...widths].sort((a, b) => a - b));
    expect(new Set(widths).size).toBe(4);
    expect(sixth([read(61, 20)])).toEqual(sixth([]));
  });

  it('removing a reading never raises low nor lowers high', () => {
    const rows = [read(25, 17), read(12, 18.1), read(3, 19), read(1, 19.2)];
    const all = sixth(rows);
    rows.forEach((_row, gone) => {
      const some = sixth(rows.filter((_, index) => index !== gone));
      expect(some.low).toBeLessThanOrEqual(all.low + 1e-9);
      expect(some.high).toBeGreaterThanOrEqual(all.high - 1e-9);
    });
  });

  it('a point that spoke long ago is told of, and one that never spoke', () => {
    const told = (rows: RawReading[]) =>
      scored(rows).reasons.filter(({ code }) => code === 'start-stale' || code === 'no-reading');
    expect(told([read(2, 20)])).toEqual([]);
    expect(told([read(40, 20)])).toEqual([
      { code: 'start-stale', zone: 'left', point: 'dock-1', ageMs: 40 * minute },
    ]);
    expect(told([])).toEqual([{ code: 'no-reading', zone: 'left', point: 'dock-1' }]);
    expect(told([read(70, 20)])).toEqual([{ code: 'no-reading', zone: 'left', point: 'dock-1' }]);
  });

  it('what it reads after the start changes nothing', () => {
    expect(scored([read(1, 20), read(-3, 80)]).places).toEqual(scored([read(1, 20)]).places);
  });

  it('live, a start that comes late is taken in, to the byte', () => {
    const open = openLoad(docked(), 8 * minute);
    const live = openLive(open);
    for (const { point, tMs, value } of faces.filter(({ tMs }) => tMs <= 6 * minute)) {
      live.add(point, tMs, value);
    }
    live.judge(6 * minute);
    live.add('dock-1', -minute, 24);
    for (const { point, tMs, value } of faces.filter(
      ({ tMs }) => tMs > 6 * minute && tMs <= 8 * minute,
    )) {
      live.add(point, tMs, value);
    }
    expect(live.judge(8 * minute)).toEqual(score(open, live.readingsCsv()));
  });
});

it('faces that were read before the start alone prove nothing, and what may have been opens from there', () => {
  const before = ['ll', 'ul'].map((point) => ({ point, tMs: -minute, value: 138 }));
  const input = pressLoad(20);
  const result = score(input, canonicalReadings(before));
  expect(result.verdict).toBe('unproven');
  expect(result.quality.silent.map(({ point }) => point)).toEqual(['ul', 'll']);
  const whole = score(input, canonicalReadings(readingsOf({ ul: platenC, ll: platenC }, 1200)));
  result.places.forEach((place, i) => {
    expect(place.low).toBeLessThanOrEqual(whole.places[i]?.low ?? NaN);
    expect(place.high).toBeGreaterThan(whole.places[i]?.high ?? NaN);
  });
});
