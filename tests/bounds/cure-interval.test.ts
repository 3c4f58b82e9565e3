import { canonicalReadings, type RawReading } from '@setwell/shared-models/score/readings';
import { Envelope, ratesOf } from '@setwell/shared-models/score/envelope';
import { openLive } from '@setwell/shared-models/score/live';
import { pointHistory } from '@setwell/shared-models/score/point-history';
import { score } from '@setwell/shared-models/score/score';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  exactly,
  faceSensor,
  openLoad,
  platenC,
  pressLoad,
  readingsOf,
  shellRecipe,
  thirteenPlies,
} from '../fixtures/press-load.ts';
import { seededUniform } from '../fixtures/seeded-normal.ts';

const scored = (input: ScoreInput, readings: readonly RawReading[]) =>
  score(input, canonicalReadings(readings));

const both = (course: (s: number) => number) => ({ ul: course, ll: course });

/** A course of at most 5 K/min either way, which the station's rates allow. */
const gentleCourse = fc
  .array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: 12, maxLength: 12 })
  .map((slopes) => (seconds: number) => {
    let c = 130;
    slopes.forEach((perMin, i) => {
      c += (perMin / 60) * Math.max(0, Math.min(seconds - i * 100, 100));
    });
    return Math.min(148, Math.max(40, c));
  });

const wholes = (result: ScoreResult) => result.places.map(({ low, high }) => ({ low, high }));

describe('readings are a set', () => {
  const input = pressLoad(20);
  const readings = readingsOf(both(platenC), 1200, 10);

  it('order and repetition change nothing, to the byte', () => {
    const once = JSON.stringify(scored(input, readings));
    fc.assert(
      fc.property(
        fc.shuffledSubarray(readings, { minLength: readings.length }),
        fc.subarray(readings),
        (shuffled, again) => {
          expect(JSON.stringify(scored(input, [...shuffled, ...again]))).toBe(once);
        },
      ),
      { numRuns: 10, seed: 1 },
    );
  }, 60_000);

  it('two values for one time take each other out, whichever came first', () => {
    const conflict = { point: 'ul', tMs: 600_000, value: 90 };
    const result = scored(input, [...readings, conflict]);
    expect(scored(input, [conflict, ...readings])).toEqual(result);
    expect(result.quality.conflicts).toBe(2);
    const without = readings.filter(({ point, tMs }) => point !== 'ul' || tMs !== 600_000);
    expect(wholes(result)).toEqual(wholes(scored(input, without)));
  });

  it('a jump of 80 K is counted out and widens, and never throws', () => {
    const jumped = readings.map((r) => (r.tMs === 600_000 ? { ...r, value: r.value + 80 } : r));
    const result = scored(pressLoad(20, { sensors: steadySensors(60) }), jumped);
    expect(result.quality.doubtful).toBe(2);
    expect(result.places[5]?.low).toBeLessThan(scored(input, readings).places[5]?.low ?? 0);
  });
});

const steadySensors = (maxRateKPerMin: number) => {
  const sensor = { ...faceSensor, plausible: { ...faceSensor.plausible, maxRateKPerMin } };
  return { ul: sensor, ll: sensor };
};

describe('no reading, no cure', () => {
  it.each([
    ['without noise', 0],
    ['with noise', 0.1],
  ])(
    'removing readings never raises low, lowers high or makes in-window: %s',
    (_name, noiseK) => {
      let compared = 0;
      const uniform = seededUniform(5);
      // A reading's noise is within what it is allowed: 3 σ.
      const noisy = (c: number) => c + 3 * noiseK * (2 * uniform() - 1);
      const sensor = { ...faceSensor, noiseK };
      fc.assert(
        fc.property(
          gentleCourse,
          gentleCourse,
          fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 242, maxLength: 242 }),
          fc.double({ min: 0, max: 1, noNaN: true }),
          (ul, ll, chances, kept) => {
            const input = pressLoad(20, { sensors: { ul: sensor, ll: sensor } });
            const read = (course: (s: number) => number) => (s: number) => noisy(course(s));
            const readings = readingsOf({ ul: read(ul), ll: read(ll) }, 1200, 10);
            const fewer = readings.filter((_, i) => (chances[i] ?? 0) <= kept);
            const all = scored(input, readings);
            const some = scored(input, fewer);
            some.places.forEach((place, i) => {
              compared += 1;
              expect(place.low).toBeLessThanOrEqual((all.places[i]?.low ?? NaN) + 1e-9);
              expect(place.high).toBeGreaterThanOrEqual((all.places[i]?.high ?? NaN) - 1e-9);
            });
            if (all.verdict !== 'in-window') expect(some.verdict).not.toBe('in-window');
          },
        ),
        { numRuns: 30, seed: 2 },
      );
      expect(compared).toBeGreaterThan(300);
    },
    60_000,
  );

  it('a face that is never read can prove nothing', () => {
    const readings = readingsOf({ ul: platenC }, 1440);
    const result = scored(pressLoad(24), readings);
    expect(result.verdict).toBe('unproven');
    expect(result.reasons).toContainEqual({ code: 'no-reading', zone: 'left', point: 'll' });
    const wide = {
      ...shellRecipe,
      window: { least: 0.001, mostNone: 'nothing harms it' },
    } as typeof shellRecipe;
    expect(scored(pressLoad(24, { recipe: wide }), readings).verdict).toBe('unproven');
  });

  it('no reading at all has no worst place', () => {
    expect(scored(pressLoad(24), [])).toMatchObject({
      verdict: 'unproven',
      worst: null,
      places: [],
    });
  });

  it('an open load that has read nothing yet is short, until heat could be too much', () => {
    const side = (minutes: number) => scored(openLoad(pressLoad(60), minutes * 60_000), []).side;
    expect(side(1)).toBe('short');
    expect(side(60)).toBe('both');
  });

  it('180 min without data lets low stand and high run', () => {
    const readings = readingsOf(both(platenC), 1440).filter(({ tMs }) => tMs <= 600_000);
    const short = scored(pressLoad(60), readings).places[5];
    const long = scored(pressLoad(180), readings).places[5];
    expect(long?.low).toBeCloseTo(short?.low ?? NaN, 3);
    expect(long?.high).toBeGreaterThan(short?.high ?? NaN);
  });

  it('above the range its source vouches for, the law earns low nothing and high in full', () => {
    const station = { ...pressLoad(24).station, supplyMaxC: 200 };
    const firstAfter = (minutes: number) =>
      scored(
        pressLoad(minutes, { station }),
        readingsOf(
          both(() => 160),
          minutes * 60,
        ),
      ).places[0];
    const half = firstAfter(12);
    const whole = firstAfter(24);
    expect(whole?.low).toBe(half?.low);
    expect(whole?.high).toBeGreaterThan((half?.high ?? NaN) + 12);
  });
});

describe('live', () => {
  it('equals score to the byte at every look, in whatever order readings come', () => {
    let looks = 0;
    const uniform = seededUniform(6);
    const sensor = { ...faceSensor, noiseK: 0.2, resolutionK: 0.1 };
    fc.assert(
      fc.property(
        gentleCourse,
        fc.array(fc.integer({ min: 0, max: 300_000 }), { minLength: 62, maxLength: 62 }),
        fc.array(fc.integer({ min: 0, max: 9 }), { minLength: 62, maxLength: 62 }),
        (course, delaysMs, fates) => {
          const opened = openLoad(pressLoad(10, { sensors: { ul: sensor, ll: sensor } }), 0);
          const live = openLive(opened);
          const noisy = (s: number) => course(s) + 0.6 * (2 * uniform() - 1);
          const sent = readingsOf({ ul: noisy, ll: platenC }, 600, 20).flatMap((reading, i) => {
            const fate = fates[i] ?? 0;
            const late = fate === 1 ? (delaysMs[i] ?? 0) : 0;
            const twin = { ...reading, value: reading.value + (fate === 2 ? 1 : 0) };
            const cameMs = reading.tMs + late;
            return [
              { cameMs, reading },
              ...(fate === 2 || fate === 3 ? [{ cameMs: cameMs + 30_000, reading: twin }] : []),
            ];
          });
          const known: RawReading[] = [];
          for (let nowMs = 0; nowMs <= 660_000; nowMs += 33_300) {
            for (const each of sent) {
              if (each.cameMs > nowMs || known.includes(each.reading)) continue;
              known.push(each.reading);
              live.add(each.reading.point, each.reading.tMs, each.reading.value);
            }
            const whole = scored({ ...opened, asOfMs: nowMs }, known);
            expect(JSON.stringify(live.judge(nowMs))).toBe(JSON.stringify(whole));
            looks += 1;
          }
        },
      ),
      { numRuns: 6, seed: 3 },
    );
    expect(looks).toBe(6 * 20);
  }, 60_000);
});

describe('marks', () => {
  const readings = readingsOf(both(platenC), 1440);
  const at = (marks: Partial<ScoreInput['marks']>, endMs = 1_440_000) => {
    const plain = pressLoad(24);
    const input = { ...plain, endMs, asOfMs: endMs, marks: { ...plain.marks, ...marks } };
    return scored(input, readings).places[5];
  };

  it('doubt of a mark is taken against low and for high', () => {
    const sharp = at({});
    const blurred = at({ releaseStart: { earliestMs: 1_320_000, latestMs: 1_440_000 } });
    expect(blurred?.low).toBeLessThan((sharp?.low ?? NaN) - 0.5);
    expect(blurred?.high).toBeCloseTo(sharp?.high ?? NaN, 6);
  });

  it('heat after release can over-cure and never proves', () => {
    const released = at({ releaseStart: exactly(1_200_000), open: exactly(1_440_000) });
    const opened = at({ releaseStart: exactly(1_200_000) }, 1_200_000);
    expect(released?.low).toBeCloseTo(opened?.low ?? NaN, 6);
    expect(released?.high).toBeGreaterThan((opened?.high ?? NaN) + 1);
  });

  it('their doubt has a row of its own, and so has the range of the law', () => {
    const plain = pressLoad(24);
    const scoredWith = (marks: Partial<ScoreInput['marks']>) =>
      scored({ ...plain, marks: { ...plain.marks, ...marks } }, readings);
    const row = (result: ScoreResult, term: string) =>
      result.budget.find((each) => each.term === term);
    const sharp = scoredWith({});
    const blurred = scoredWith({ releaseStart: { earliestMs: 1_320_000, latestMs: 1_440_000 } });
    expect(row(sharp, 'marks')).toBeUndefined();
    // Nominal stands at the middle, 1380 s; low at 1320 s, high at the end of the heat.
    const nominalAt = (s: number) => at({ releaseStart: exactly(s * 1000) })?.nominal ?? NaN;
    expect(row(blurred, 'marks')?.down).toBeCloseTo(nominalAt(1380) - nominalAt(1320), 6);
    expect(row(blurred, 'marks')?.up).toBeCloseTo(nominalAt(1440) - nominalAt(1380), 6);
    expect(row(sharp, 'range')?.down).toBeGreaterThan(0);
    const everywhere = { ...shellRecipe, law: { ...shellRecipe.law, validC: undefined } };
    const free = scored(pressLoad(24, { recipe: everywhere }), readings);
    expect(row(free, 'range')).toBeUndefined();
  });

  it('an opened load is pressed again only while every line is below noReturn', () => {
    const recipe = { ...shellRecipe, window: { least: 6, most: 40, noReturn: 2 } };
    const opened = (minutes: number) =>
      scored(pressLoad(minutes, { recipe }), readings).repress ?? { answer: null };
    expect(scored(pressLoad(24), readings).repress).toBeNull();
    expect(opened(1)).toMatchObject({ answer: 'allowed', glueLine: 1 });
    expect(opened(7)).toMatchObject({ answer: 'unproven' });
    expect(opened(12)).toMatchObject({ answer: 'refused', noReturn: 2 });
  });

  it('heat before pressure is precure, held against its own most, and proves nothing', () => {
    const requirement = {
      kind: 'precure' as const,
      most: 0.5,
      contactToPressureMaxS: 120,
      coveredBy: 'measured' as const,
    };
    const recipe = { ...shellRecipe, requirements: [requirement] };
    const pressed = (pressureS: number) => {
      const plain = pressLoad(24, { recipe });
      const marks = { ...plain.marks, contact: exactly(0), pressureOn: exactly(pressureS * 1000) };
      return scored({ ...plain, marks }, readings);
    };
    const quick = pressed(30);
    const slow = pressed(600);
    expect(quick.requirements).toMatchObject([{ kind: 'precure', verdict: 'in-window' }]);
    expect(slow.requirements).toMatchObject([{ kind: 'precure', verdict: 'over' }]);
    expect(slow.verdict).toBe('over');
    expect(slow.places[0]?.low).toBeLessThan((quick.places[0]?.low ?? 0) - 2);
    expect(slow.places[0]?.high).toBeCloseTo(quick.places[0]?.high ?? NaN, 6);
  });
});

describe('liquid glue', () => {
  it('its water costs time, and the declared band is doubt of its own', () => {
    const readings = readingsOf(both(platenC), 1440);
    const wetLayup = {
      ...thirteenPlies,
      dryGlue: false,
      evaporation: { waterKgPerM2PerLine: 0.08, share: [0.1, 0.6] as [number, number] },
    };
    const dry = scored(pressLoad(24), readings);
    const wet = scored(pressLoad(24, { recipe: { ...shellRecipe, layup: wetLayup } }), readings);
    expect(wet.places[5]?.nominal).toBeLessThan((dry.places[5]?.nominal ?? NaN) - 1);
    const water = wet.budget.find(({ term }) => term === 'water');
    expect(water?.down).toBeGreaterThan(0.3);
  });
});

describe('what was hot before, and what comes into the cold', () => {
  it('a re-pressed part that is still warm is proven sooner, and only as warm as it was measured', () => {
    const readings = readingsOf(both(platenC), 1440, 5);
    const started = (initialC: number | { least: number; most: number }) => {
      const recipe = { ...shellRecipe, layup: { ...thirteenPlies, initialC } };
      return scored(pressLoad(18, { recipe }), readings).places[5];
    };
    const cold = started(20);
    const warm = started(70);
    const perhaps = started({ least: 20, most: 70 });
    expect(warm?.low).toBeGreaterThan((cold?.low ?? NaN) + 1);
    expect(perhaps?.low).toBeLessThan(warm?.low ?? NaN);
    expect(perhaps?.high).toBeGreaterThan(cold?.high ?? NaN);
  });

  it('platens that go cold in the middle stop counting, and nothing counts twice', () => {
    const tripped = (s: number) =>
      s < 600 ? platenC(s) : Math.max(20, platenC(600) - (s - 600) / 10);
    const falling = scored(pressLoad(24), readingsOf(both(tripped), 1440, 5));
    const longer = scored(pressLoad(60), readingsOf(both(tripped), 3600, 5));
    expect(falling.verdict).not.toBe('in-window');
    const more = (end: 'low' | 'nominal') =>
      (longer.places[5]?.[end] ?? NaN) - (falling.places[5]?.[end] ?? NaN);
    expect(more('nominal')).toBeLessThan(0.15);
    expect(more('low')).toBeLessThan(0.05);
  });
});

describe('noise', () => {
  const load = (noiseK: number, readings: RawReading[]) => {
    const sensor = { ...faceSensor, noiseK };
    return scored(pressLoad(24, { sensors: { ul: sensor, ll: sensor } }), readings);
  };

  it('of a stream widens what its readings allow, by value', () => {
    const readings = readingsOf(both(platenC), 1440, 10);
    const quiet = load(0, readings).places[5];
    const loud = load(0.3, readings).places[5];
    expect(loud?.nominal).toBeCloseTo(quiet?.nominal ?? NaN, 9);
    expect(loud?.low).toBeLessThan((quiet?.low ?? NaN) - 0.2);
    expect(loud?.high).toBeGreaterThan((quiet?.high ?? NaN) + 0.2);
  });

  it('many readings agree on less than any one of them allows', () => {
    const often = load(0.3, readingsOf(both(platenC), 1440, 1)).places[5];
    const seldom = load(0.3, readingsOf(both(platenC), 1440, 30)).places[5];
    expect(often?.low).toBeGreaterThan(seldom?.low ?? NaN);
  });

  it('a step that no rate allows is bounded by its two readings, and forgotten after', () => {
    const step = (s: number) => (s < 600 ? 120 : 140);
    const envelope = new Envelope(
      pointHistory(readingsOf({ ul: step }, 1200, 10), faceSensor, Infinity),
      ratesOf(pressLoad(20), faceSensor),
    );
    envelope.at(595_000);
    expect([envelope.low, envelope.nominal, envelope.high]).toEqual([120, 130, 140]);
    envelope.at(605_000);
    expect(envelope.low).toBeGreaterThan(138);
    expect(envelope.high).toBeLessThan(142);
  });
});

describe('what the budget says', () => {
  it('terms combine as the root of their squares, and a gap is priced whole', () => {
    const readings = readingsOf(both(platenC), 1440).filter(
      ({ tMs }) => tMs <= 840_000 || tMs >= 1_080_000,
    );
    const result = scored(pressLoad(24), readings);
    const worst = result.places[5];
    const moved = result.budget.filter(({ term }) => term !== 'gap' && term !== 'range');
    const range = result.budget.find(({ term }) => term === 'range');
    const gap = result.budget.find(({ term }) => term === 'gap');
    const squares = Math.sqrt(moved.reduce((sum, { down }) => sum + down * down, 0));
    expect(squares + (gap?.down ?? NaN) + (range?.down ?? NaN)).toBeCloseTo(
      (worst?.nominal ?? 0) - (worst?.low ?? 0),
      6,
    );
    const costs = result.reasons.flatMap((each) => (each.code === 'gap' ? [each.cost] : []));
    expect(costs).toHaveLength(2);
    expect(costs.reduce((a, b) => a + b, 0)).toBeCloseTo(gap?.down ?? NaN, 6);
  });

  it('a station heated by radio frequency is refused, with its reason', () => {
    const { station } = pressLoad(24);
    const input = pressLoad(24, { station: { ...station, heating: 'radio-frequency' } });
    const result = scored(input, readingsOf(both(platenC), 1440));
    expect(result).toMatchObject({ verdict: 'unproven', worst: null });
    expect(result.reasons[0]).toMatchObject({ code: 'refused', what: 'radio-frequency' });
  });
});
