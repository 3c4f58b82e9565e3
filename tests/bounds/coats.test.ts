import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { carriedTo, scoreCoats, type Bake } from '@setwell/shared-models/score/coats';
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

/** A bake as the judge scores it: it carries what the bakes before have left. */
const carrying = (earlier: readonly Bake[], { input, readingsCsv }: Bake) =>
  score({ ...input, coats: carriedTo(input, scoreCoats(earlier)) }, readingsCsv);

describe('a bake that carries its coats', () => {
  const kinetic = {
    form: 'n-th-order',
    aPerS: 8e6,
    activationEnergyJPerMol: 68_000,
    n: 2,
    source: 'invented for the tests',
  };

  it('goes on from where each stood: bake by bake comes out as the whole, to the bit', () => {
    const bakes = [
      bake(1, { law: kinetic, total: { least: 0.1, most: 0.999 } }),
      bake(2),
      bake(3, { c: 64 }),
      bake(4, { law: { ...paint, activationEnergyJPerMol: 90_000 } }),
    ];
    bakes.forEach((each, i) => {
      const { coats } = carrying(bakes.slice(0, i), each);
      expect(coats).toEqual(scoreCoats(bakes.slice(0, i + 1)));
    });
    const { requirements } = carrying(bakes.slice(0, 3), bakes[3]!);
    const units = requirements.find(({ kind }) => kind === 'total')?.checks;
    expect(units?.map(({ what, unit }) => `${what} ${unit}`)).toEqual([
      ...['coat 1 1', 'coat 2 min', 'coat 3 min', 'coat 4 min'],
    ]);
  });

  it('holds each against its own most: another set’s lower one is not the first coats’', () => {
    const first = { least: 10, most: 420 };
    const second = { least: 10, most: 60 };
    const bakes = [
      ...[1, 2].map((coat) => bake(coat, { total: first })),
      bake(3, { total: second }),
    ];
    const result = carrying(bakes.slice(0, 2), bakes[2]!);
    expect(result.verdict).toBe('in-window');
    const total = result.requirements.find(({ kind }) => kind === 'total');
    expect(total?.checks.map(({ most }) => most)).toEqual([420, 420, 60]);
    expect(total?.checks[0]?.low).toBeGreaterThan(70);
    // Once more, and the third has had more than it stands, the first have not.
    const after = carrying(bakes, bake(4, { total: second }));
    expect(after.coats?.map(({ verdict }) => verdict)).toEqual([
      ...['in-window', 'in-window', 'unproven', 'in-window'],
    ]);
  });

  it('stays short for ever under a bake that never was, in every later load', () => {
    const [first, , , ...later] = [1, 2, 3, 4, 5].map((coat) => bake(coat));
    const result = carrying([first!, later[0]!], later[1]!);
    expect(result.verdict).toBe('under');
    const missed = result.requirements.find(({ kind }) => kind === 'earlier-coat');
    expect(missed?.evidence).toBe('coat 2, 3: short of its own bake');
    expect(missed?.checks[0]).toMatchObject({ what: 'coat 2', low: 0, high: 0, least: 10 });
    expect(result.coats?.map(({ coat, load }) => [coat, load])).toEqual([
      [1, 'O-1-1'],
      [2, null],
      [3, null],
      [4, 'O-4-4'],
      [5, 'O-5-5'],
    ]);
    // The first bake that anybody knows of is of coat 5: four are missing under it.
    expect(carrying([], later[1]!).coats?.map(({ load }) => load)).toEqual([
      ...[null, null, null, null],
      'O-5-5',
    ]);
  });

  it('is proven by nothing that nobody could follow, and that is long for the others', () => {
    const second = bake(2);
    const blind: Bake = { ...second, unjudged: true };
    const [below, own] = scoreCoats([bake(1), blind]);
    expect(below).toMatchObject({ verdict: 'unproven', total: { verdict: 'unproven' } });
    expect(below).toMatchObject({ step: { verdict: 'in-window' }, unjudged: ['O-2-2'] });
    expect(own).toMatchObject({
      load: 'O-2-2',
      step: { verdict: 'unproven' },
      verdict: 'unproven',
    });
    const third = carrying([bake(1), blind], bake(3));
    expect(third.verdict).toBe('unproven');
    expect(third.coats?.map(({ verdict }) => verdict)).toEqual([
      'unproven',
      'unproven',
      'in-window',
    ]);
    const refused = { ...second, input: { ...second.input } };
    refused.input.station = { ...refused.input.station, heating: 'infrared' };
    expect(scoreCoats([bake(1), refused])).toEqual(scoreCoats([bake(1), blind]));
    const unread = { ...second, readingsCsv: canonicalReadings([]) };
    expect(scoreCoats([bake(1), unread])).toEqual(scoreCoats([bake(1), blind]));
  });

  it('a coat that is laid and baked again is the old one no more only where it never was', () => {
    const again = scoreCoats([bake(1), bake(2), bake(2, { day: 3 })]);
    expect(again.map(({ coat, load }) => [coat, load])).toEqual([
      [1, 'O-1-1'],
      [2, 'O-2-2'],
    ]);
    const late = scoreCoats([bake(1), bake(3), bake(2, { day: 4 })]);
    expect(late[1]).toMatchObject({ coat: 2, load: 'O-2-4', verdict: 'in-window' });
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

  it('parts that were baked at other times each have a recoat time of their own', () => {
    const of = (part: string, hours: number) => {
      const { own } = carriedTo(bake(2).input, scoreCoats([bake(1)]))[0]!;
      return { ...under, endMs: startMs - hours * H, own: { ...own!, parts: [part] } };
    };
    const both = second([of('S-1', 4), of('S-2', 26)], usual(startMs - 0.5 * H));
    const recoat = both.requirements.find(({ kind }) => kind === 'recoat');
    const times = recoat?.checks.filter(({ what }) => what === 'recoat');
    expect(times?.map(({ low, verdict }) => [low, verdict])).toEqual([
      [25.5, 'over'],
      [3.5, 'in-window'],
    ]);
    expect(recoat?.verdict).toBe('over');
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
