import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { scoreCoats, type Bake } from '@setwell/shared-models/score/coats';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { describe, expect, it } from 'vitest';
import { exactly, faceSensor, pressLoad, readingsOf } from '../fixtures/press-load.ts';

const H = 3_600_000;

const paint = {
  form: 'equivalent-time',
  referenceC: 60,
  activationEnergyJPerMol: 70_000,
  source: 'invented for the tests',
};

/** One bake of 30 min, the coat of a number, so many days after the first. */
function bake(
  coat: number,
  changed: { day?: number; c?: number; law?: object; total?: object; zone?: string } = {},
): Bake {
  const { day = coat, c = 62, law = paint, total = { least: 10, most: 100 } } = changed;
  const startMs = day * 24 * H;
  const endMs = startMs + H / 2;
  const plain = pressLoad(30);
  const recipe = {
    id: `top-coat-${coat}`,
    kind: 'oven',
    title: `Coat ${coat}`,
    law,
    window: { step: { least: 10, most: 50 }, total },
    coat,
    part: { timeConstantMin: 4, initialC: 22, tolerance: { placeK: 1 } },
    requirements: [],
  } as unknown as Recipe;
  const input: ScoreInput = {
    ...plain,
    load: `O-${coat}-${day}`,
    station: {
      ...plain.station,
      kind: 'oven',
      maxHeatingKPerMin: 2,
      maxCoolingKPerMin: 2,
      supplyMaxC: 80,
    },
    zones: [{ id: changed.zone ?? 'bay', upper: null, lower: null, air: 'air' }],
    sensors: { air: faceSensor },
    startMs,
    endMs,
    asOfMs: endMs,
    marks: { ...plain.marks, pressureOn: exactly(startMs), releaseStart: exactly(endMs) },
    plannedEndMs: endMs,
    recipe,
  };
  const readings = readingsOf({ air: () => c }, 1800, 30).map((each) => ({
    ...each,
    tMs: each.tMs + startMs,
  }));
  return { input, readingsCsv: canonicalReadings(readings) };
}

const alone = ({ input, readingsCsv }: Bake) => {
  const [place] = score(input, readingsCsv).places;
  if (place === undefined) throw new Error('no place');
  return place;
};

describe('coats over their bakes', () => {
  it('each has its own bake’s step, and the sum of all bakes since it was laid', () => {
    const bakes = [bake(1), bake(2), bake(3)];
    const once = alone(bake(1));
    const coats = scoreCoats(bakes);
    expect(coats.map(({ coat, load }) => [coat, load])).toEqual([
      [1, 'O-1-1'],
      [2, 'O-2-2'],
      [3, 'O-3-3'],
    ]);
    coats.forEach(({ step, total, verdict }, i) => {
      expect(step.low).toBeCloseTo(once.low, 6);
      // Equivalent minutes of one law add up.
      expect(total?.nominal).toBeCloseTo((3 - i) * once.nominal, 6);
      expect(total?.high).toBeCloseTo((3 - i) * once.high, 6);
      expect(verdict).toBe('in-window');
    });
    expect(scoreCoats([...bakes].reverse())).toEqual(coats);
  });

  it('the first coat is the first to have been through too much', () => {
    const total = { least: 10, most: 85 };
    const bakes = [1, 2, 3].map((coat) => bake(coat, { total }));
    const coats = scoreCoats(bakes);
    expect(coats.map(({ step }) => step.verdict)).toEqual(['in-window', 'in-window', 'in-window']);
    expect(coats[0]).toMatchObject({ verdict: 'unproven', total: { side: 'long' } });
    expect(coats[2]?.verdict).toBe('in-window');
    expect(scoreCoats([...bakes, bake(4, { total })])[0]?.verdict).toBe('over');
  });

  it('a missed bake stays missed, whatever the coat goes through later', () => {
    const coats = scoreCoats([bake(1), bake(3), bake(4)]);
    expect(coats[1]).toMatchObject({
      coat: 2,
      load: null,
      step: { low: 0, high: 0, verdict: 'under', side: 'short' },
      verdict: 'under',
    });
    expect(coats[1]?.total?.low).toBeGreaterThan(10);
    expect([coats[0], coats[2], coats[3]].map((each) => each?.verdict)).toEqual([
      ...['in-window', 'in-window', 'in-window'],
    ]);
    // A bake that was too cool is missed as well: the next one is another coat's.
    const cool = scoreCoats([bake(1), bake(2, { c: 40 }), bake(3)]);
    expect(cool[1]).toMatchObject({ load: 'O-2-2', step: { verdict: 'under' }, verdict: 'under' });
  });

  it('a kinetic law goes on from where it was: its whole is not the sum of its bakes', () => {
    const law = {
      form: 'n-th-order',
      aPerS: 8e6,
      activationEnergyJPerMol: 68_000,
      n: 2,
      source: 'invented for the tests',
    };
    const kinetic = (coat: number) =>
      bake(coat, { law, total: { least: 0.1, most: 0.999 }, zone: `bay-${coat}` });
    const once = alone(kinetic(1)).nominal;
    const twice = scoreCoats([kinetic(1), kinetic(2)])[0]?.total?.nominal ?? NaN;
    // Second order: 1/(1 − a) − 1 adds up, the degree of cure does not.
    const added = 2 * (1 / (1 - once) - 1);
    expect(twice).toBeCloseTo(added / (1 + added), 5);
    expect(once).toBeGreaterThan(0.2);
    expect(twice).toBeLessThan(1.8 * once);
  });
});

describe('a bake beside its coats', () => {
  const second = (coats: ScoreInput['coats'], events: ScoreInput['events'] = []) => {
    const { input, readingsCsv } = bake(2);
    const recipe = {
      ...input.recipe,
      flashOffMin: { least: 10, most: 20 },
      recoatH: { least: 2, most: 16 },
      requirements: [
        { kind: 'flash-off', coveredBy: 'entered' },
        { kind: 'recoat', pieceMaxC: 32, coveredBy: 'entered' },
        { kind: 'film-build', minGPerM2: 110, maxGPerM2: 130, coveredBy: 'entered' },
      ],
    } as unknown as Recipe;
    return score({ ...input, recipe, coats, events }, readingsCsv);
  };
  const startMs = 2 * 24 * H;
  const under = { coat: 1, low: 25, nominal: 28, high: 31, endMs: startMs - 4 * H };
  const said = (
    event: NonNullable<ScoreInput['events']>[number]['event'],
    atMs: number,
    numbers: Record<string, number> = {},
  ) => ({ event, earliestMs: atMs, latestMs: atMs, numbers, names: {} });
  const usual = (coatMs: number) => [
    said('piece-temperature', coatMs - 600_000, { tempC: 27 }),
    said('coat', coatMs, { gPerM2: 121 }),
    said('flash-off-start', startMs - 15 * 60_000),
  ];
  const verdicts = (result: ReturnType<typeof second>) =>
    result.requirements.map(({ kind, verdict }) => [kind, verdict]);

  it('flash-off, recoat and film build are held against what was said', () => {
    expect(verdicts(second([under], usual(startMs - 0.5 * H)))).toEqual([
      ['flash-off', 'in-window'],
      ['recoat', 'in-window'],
      ['film-build', 'in-window'],
      ['total', 'in-window'],
    ]);
    const early = { ...under, endMs: startMs - 1 * H };
    expect(verdicts(second([early], usual(startMs - 0.5 * H)))[1]).toEqual(['recoat', 'under']);
    const long = { ...under, endMs: startMs - 26 * H };
    expect(verdicts(second([long], usual(startMs - 0.5 * H)))[1]).toEqual(['recoat', 'over']);
    // Abraded in between, the most is not asked any more.
    const abraded = [said('abraded', startMs - 2 * H), ...usual(startMs - 0.5 * H)];
    expect(verdicts(second([long], abraded))[1]).toEqual(['recoat', 'in-window']);
    const wetFilm = usual(startMs - 0.5 * H).map((each) =>
      each.event === 'flash-off-start' ? { ...each, latestMs: startMs - 5 * 60_000 } : each,
    );
    expect(verdicts(second([under], wetFilm))[0]).toEqual(['flash-off', 'unproven']);
  });

  it('an earlier coat that missed its own bake holds the load, and nothing heals it', () => {
    const missed = second([{ ...under, step: 'under' }], usual(startMs - 0.5 * H));
    expect(missed.verdict).toBe('under');
    expect(missed.requirements.find(({ kind }) => kind === 'earlier-coat')).toMatchObject({
      verdict: 'under',
      evidence: 'coat 1: short of its own bake',
    });
  });
});
