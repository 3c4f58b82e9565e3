import type { Recipe, Requirement } from '@setwell/shared-models/plant/recipe-schema';
import { canonicalReadings, type RawReading } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import type { ScoredEvent, ScoreInput } from '@setwell/shared-models/score/shape';
import { describe, expect, it } from 'vitest';
import { exactly, faceSensor, pressLoad, readingsOf, shellRecipe } from '../fixtures/press-load.ts';

const MIN = 60_000;

/** Two hours in the clamps at 20.5 °C: the heat is proven, so that the requirement decides. */
function clamped(
  requirements: object[],
  events: ScoredEvent[] = [],
  changed: Partial<ScoreInput> = {},
): ScoreInput {
  const plain = pressLoad(120);
  const recipe = {
    id: 'frame',
    kind: 'rack',
    title: 'Frame',
    law: {
      form: 'equivalent-time',
      referenceC: 20,
      activationEnergyJPerMol: 45_000,
      floorC: 10,
      source: 'invented for the tests',
    },
    window: { least: 90, mostNone: 'nothing harms it' },
    part: { follows: 'air' },
    requirements: requirements as Requirement[],
  } as Recipe;
  return {
    ...plain,
    station: {
      ...plain.station,
      kind: 'rack',
      loadingDropKPerMin: null,
      maxHeatingKPerMin: 0.2,
      maxCoolingKPerMin: 0.2,
    },
    zones: [{ id: 'bay', upper: null, lower: null, air: 'air' }],
    sensors: { air: { ...faceSensor, plausible: { minC: 0, maxC: 60, maxRateKPerMin: 10 } } },
    recipe,
    events,
    ...changed,
  };
}

const air = readingsOf({ air: () => 20.5 }, 7200, 60);

function judged(input: ScoreInput, more: RawReading[] = []) {
  const result = score(input, canonicalReadings([...air, ...more]));
  return { result, requirement: result.requirements[0] };
}

const said = (
  event: ScoredEvent['event'],
  atMin: number,
  numbers: Record<string, number> = {},
  names: Record<string, string> = {},
): ScoredEvent => ({ event, earliestMs: atMin * MIN, latestMs: atMin * MIN, numbers, names });

const entered = { coveredBy: 'entered', source: 'invented' };

describe('a requirement beside heat', () => {
  it('is the verdict of the load, whatever the heat says', () => {
    const cold = clamped(
      [{ kind: 'piece-temperature', minC: 15, ...entered }],
      [said('piece-temperature', -5, { tempC: 12.2, expandedK: 1 })],
    );
    const { result, requirement } = judged(cold);
    expect(result.places[0]?.verdict).toBe('in-window');
    expect(requirement).toMatchObject({ verdict: 'under', side: 'short', coveredBy: 'entered' });
    expect(requirement?.evidence).toBe('piece-temperature 11.2 to 13.2 °C');
    expect(result).toMatchObject({ verdict: 'under', side: 'short' });
    expect(result.reasons).toContainEqual({
      code: 'requirement',
      kind: 'piece-temperature',
      verdict: 'under',
    });
  });

  it('entered and never said proves nothing; sampled and covered by a procedure say so', () => {
    const moisture = { kind: 'moisture', minPct: 8, maxPct: 10 };
    const entry = judged(clamped([{ ...moisture, ...entered }]));
    expect(entry.requirement).toMatchObject({ verdict: 'unproven', side: 'both' });
    expect(entry.result.verdict).toBe('unproven');
    const sampled = judged(clamped([{ ...moisture, coveredBy: 'sampled' }]));
    expect(sampled.requirement).toMatchObject({
      verdict: 'not-monitored',
      evidence: 'no sample of this load',
    });
    expect(sampled.result.verdict).toBe('in-window');
    const procedure = { ...moisture, coveredBy: { notMonitored: 'WI-02' } };
    expect(judged(clamped([procedure])).requirement).toMatchObject({
      verdict: 'not-monitored',
      coveredBy: 'not-monitored',
      procedure: 'WI-02',
      evidence: null,
    });
    // What was said all the same still counts.
    const wet = judged(clamped([procedure], [said('moisture', -30, { pct: 13 })]));
    expect(wet.requirement).toMatchObject({ verdict: 'over', coveredBy: 'entered' });
  });

  it('is guarded by its own uncertainty, once', () => {
    const of = (pct: number) =>
      judged(
        clamped(
          [{ kind: 'moisture', minPct: 8, maxPct: 10, ...entered }],
          [said('moisture', -30, { pct, expandedPct: 0.5 })],
        ),
      ).requirement?.verdict;
    expect([7.4, 7.8, 9, 9.8, 10.6].map(of)).toEqual([
      ...['under', 'unproven', 'in-window', 'unproven', 'over'],
    ]);
  });

  it('whose breach is a mild one is a deviation on the record, and no verdict', () => {
    const mild = { kind: 'moisture', minPct: 8, maxPct: 10, severity: { short: 'deviation' } };
    const dry = judged(clamped([{ ...mild, ...entered }], [said('moisture', -30, { pct: 7 })]));
    expect(dry.result.verdict).toBe('in-window');
    expect(dry.result.deviations).toEqual([
      {
        phase: 'requirement',
        zone: null,
        what: 'moisture',
        side: 'short',
        by: 1,
        unit: '%',
        atMs: -30 * MIN,
      },
    ]);
    const wet = judged(clamped([{ ...mild, ...entered }], [said('moisture', -30, { pct: 12 })]));
    expect(wet.result.verdict).toBe('over');
  });
});

describe('times', () => {
  const assembly = { kind: 'assembly-time', openMaxMin: 8, closedMaxMin: 15, ...entered };

  it('open from the first spread to the last cover, closed from the first cover to pressure', () => {
    const events = [
      ...[said('spread', -20), said('spread', -16)],
      ...[said('assembled', -15), said('assembled', -13)],
    ];
    const { requirement } = judged(clamped([assembly], events));
    expect(requirement?.checks).toMatchObject([
      { what: 'open', low: 1, high: 7, verdict: 'in-window' },
      { what: 'closed', low: 13, high: 15, verdict: 'in-window' },
    ]);
    const late = judged(clamped([assembly], [said('spread', -30), said('assembled', -16)]));
    expect(late.requirement).toMatchObject({ verdict: 'over', side: 'long' });
    const unsaid = judged(clamped([assembly], [said('spread', -30)]));
    expect(unsaid.requirement).toMatchObject({ verdict: 'unproven', side: 'long' });
  });

  it('the doubt of a moment is the doubt of a time', () => {
    const vague = { ...said('assembled', 0), earliestMs: -18 * MIN, latestMs: -12 * MIN };
    const { requirement } = judged(clamped([assembly], [said('spread', -19), vague]));
    expect(requirement?.checks[1]).toMatchObject({ low: 12, high: 18, verdict: 'unproven' });
  });

  // Arrhenius by hand: 30 min at 20 °C with 50 kJ/mol are 22.8 min at 24 °C.
  it('pot life is a law: a mix used at 41 min and 24 °C is far past it, one at 20 min is not', () => {
    const potLife = {
      kind: 'mix-age',
      maxMin: 30,
      referenceC: 20,
      activationEnergyJPerMol: 50_000,
      ...entered,
    };
    const mixed = (usedAfterMin: number) =>
      judged(
        clamped(
          [potLife],
          [
            said('mix', -60, { tempC: 24 }, { mix: 'K-M-077' }),
            said('spread', -60 + usedAfterMin, {}, { mix: 'K-M-077' }),
          ],
        ),
      ).requirement;
    expect(mixed(41)).toMatchObject({ verdict: 'over' });
    expect(mixed(41)?.checks[0]?.high).toBeCloseTo((41 * 30) / 22.76, 1);
    expect(mixed(22)).toMatchObject({ verdict: 'in-window' });
    expect(mixed(24)).toMatchObject({ verdict: 'over' });
    const thrown = clamped(
      [{ ...potLife, referenceC: undefined }],
      [
        said('mix', -60, {}, { mix: 'M' }),
        said('mix-discarded', -55, {}, { mix: 'M' }),
        said('spread', -50, {}, { mix: 'M' }),
      ],
    );
    expect(judged(thrown).requirement?.verdict).toBe('over');
  });

  it('mix ratio by weight, as said or as weighed', () => {
    const ratio = { kind: 'mix-ratio', partsPer100: 20, tolerance: 1, ...entered };
    const of = (numbers: Record<string, number>) =>
      judged(clamped([ratio], [said('mix', -30, numbers)])).requirement?.verdict;
    expect(of({ partsPer100: 20.5 })).toBe('in-window');
    expect(of({ resinG: 500, hardenerG: 90 })).toBe('under');
    expect(of({ resinG: 500, hardenerG: 115 })).toBe('over');
    expect(of({})).toBe('unproven');
  });

  it('material by its age and the warmest it was stored at', () => {
    const life = { kind: 'material-life', maxD: 90, storedMaxC: 25, ...entered };
    const of = (numbers: Record<string, number>) =>
      judged(clamped([life], [said('spread', -30, numbers)])).requirement?.checks;
    const days = 24 * 60 * MIN;
    expect(of({ madeMs: -80 * days, storedMaxC: 32 })).toMatchObject([
      { what: 'age', verdict: 'in-window' },
      { what: 'stored', high: 32, verdict: 'over' },
    ]);
    expect(of({ madeMs: -91 * days })).toMatchObject([
      { what: 'age', verdict: 'over' },
      { what: 'stored', verdict: 'unproven' },
    ]);
  });

  it('a rest lasts until the piece goes on; until then it has no verdict', () => {
    const rest = { kind: 'rest', minMin: 120, coveredBy: 'entered', source: 'invented' };
    expect(judged(clamped([rest])).requirement).toMatchObject({
      verdict: 'not-monitored',
      evidence: 'not yet',
    });
    const moved = (atMin: number) =>
      judged(clamped([rest], [said('part-moved', atMin)])).requirement?.verdict;
    expect(moved(200)).toBe('under');
    expect(moved(241)).toBe('in-window');
  });
});

describe('test', () => {
  const test = { kind: 'test', method: 'hardness', min: 120, unit: 's' };

  it('is passed, failed, or not yet there', () => {
    const required = { ...test, ...entered };
    const result = (value: number) => [said('test-result', 300, { value }, { method: 'hardness' })];
    expect(judged(clamped([required])).requirement).toMatchObject({
      verdict: 'unproven',
      side: 'short',
      evidence: 'not yet',
    });
    expect(judged(clamped([required], result(131))).requirement?.verdict).toBe('in-window');
    expect(judged(clamped([required], result(117))).requirement?.verdict).toBe('under');
    const other = [said('test-result', 300, { value: 131 }, { method: 'gloss' })];
    expect(judged(clamped([required], other)).requirement?.verdict).toBe('unproven');
  });

  it('a store rests by calendar and equivalent and test: one of them missing proves nothing', () => {
    const days = 24 * 60;
    const stored = (minutes: number, events: ScoredEvent[], c: number) => {
      const plain = clamped([{ ...test, coveredBy: 'sampled' }], events);
      const endMs = minutes * MIN;
      const recipe = {
        ...plain.recipe,
        kind: 'store',
        law: { ...plain.recipe.law, activationEnergyJPerMol: 60_000, floorC: undefined },
        window: { rest: { calendarLeastD: 14, equivalentLeastD: 13 } },
      } as unknown as Recipe;
      const input: ScoreInput = {
        ...plain,
        station: {
          ...plain.station,
          kind: 'store',
          maxHeatingKPerMin: 0.02,
          maxCoolingKPerMin: 0.02,
        },
        recipe,
        endMs,
        asOfMs: endMs,
        marks: { ...plain.marks, releaseStart: exactly(endMs) },
      };
      const readings = readingsOf({ air: () => c }, minutes * 60, 600);
      return score(input, canonicalReadings(readings));
    };
    const passed = [said('test-result', 14 * days, { value: 140 }, { method: 'hardness' })];
    expect(stored(14 * days, passed, 20.5).verdict).toBe('in-window');
    expect(stored(14 * days, [], 20.5).verdict).toBe('unproven');
    expect(stored(13.5 * days, passed, 22).verdict).toBe('under');
    expect(stored(14 * days, passed, 16).verdict).toBe('under');
  }, 60_000);
});

describe('signals', () => {
  const bar = (minutes: number, of: (s: number) => number): RawReading[] =>
    readingsOf({ 'p1-bar': of }, minutes * 60, 5);
  const gauge = {
    signal: 'bar' as const,
    plausible: { min: 0, max: 400 },
    expanded: 2,
    ramAreaCm2: 1000,
    silentAfterMs: 15_000,
  };
  const pressure = {
    kind: 'pressure',
    minNPerMm2: 1.44,
    maxNPerMm2: 1.76,
    pressedAreaCm2: 12_000,
    coveredBy: 'measured',
    source: 'invented',
  };
  const pressed = (requirements: object[], readings: RawReading[], changed = {}) => {
    const input = pressLoad(10, {
      recipe: { ...shellRecipe, requirements: requirements as Requirement[] },
      signals: { 'p1-bar': gauge },
      ...changed,
    });
    const faces = readingsOf({ ul: () => 138, ll: () => 138 }, 600, 10);
    return score(input, canonicalReadings([...faces, ...readings])).requirements[0];
  };

  // By hand: 192 bar on rams of 1,000 cm² are 1,920 kN; on 12,000 cm² of glue line 1.6 N/mm².
  it('oil pressure becomes pressure on the glue, all the time from pressure-on to release', () => {
    const steady = pressed(
      [pressure],
      bar(10, () => 192),
    );
    expect(steady).toMatchObject({ verdict: 'in-window', coveredBy: 'measured' });
    expect(steady?.checks[0]?.low).toBeCloseTo(1.6 - 2 / 120, 9);
    const dropped = pressed(
      [pressure],
      bar(10, (s) => (s === 300 ? 100 : 192)),
    );
    expect(dropped).toMatchObject({ verdict: 'under', checks: [{ atMs: 300_000 }] });
    const high = pressed(
      [pressure],
      bar(10, () => 220),
    );
    expect(high).toMatchObject({ verdict: 'over' });
    expect(
      pressed(
        [pressure],
        bar(10, () => 211),
      ),
    ).toMatchObject({ verdict: 'unproven' });
  });

  it('a silence of the gauge, and a gauge that nobody has, prove nothing', () => {
    const gap = bar(10, () => 192).filter(({ tMs }) => tMs < 200_000 || tMs > 230_000);
    expect(pressed([pressure], gap)).toMatchObject({ verdict: 'unproven', side: 'both' });
    expect(pressed([pressure], [])).toMatchObject({ verdict: 'unproven' });
    const without = { ...pressure, pressedAreaCm2: undefined };
    expect(
      pressed(
        [without],
        bar(10, () => 192),
      ),
    ).toMatchObject({ verdict: 'unproven' });
  });

  it('opening in steps and not too fast', () => {
    const opening = {
      kind: 'opening',
      minSteps: 3,
      minS: 90,
      coveredBy: 'measured',
      source: 'invented',
    };
    const marks = {
      contact: null,
      pressureOn: exactly(0),
      releaseStart: exactly(480_000),
      open: exactly(600_000),
    };
    const inSteps = (s: number) =>
      s < 480 ? 192 : s < 520 ? 120 : s < 560 ? 60 : s < 590 ? 20 : 0;
    const stepped = pressed([opening], bar(10, inSteps), { marks });
    expect(stepped).toMatchObject({ verdict: 'in-window' });
    expect(stepped?.checks[1]).toMatchObject({ what: 'steps', low: 4 });
    const atOnce = pressed(
      [opening],
      bar(10, (s) => (s < 480 ? 192 : 0)),
      { marks },
    );
    expect(atOnce).toMatchObject({ verdict: 'under' });
    const hasty = { ...marks, open: exactly(520_000) };
    expect(pressed([opening], bar(10, inSteps), { marks: hasty })).toMatchObject({
      verdict: 'under',
    });
  });

  it('faces that differ by 8 K warp the piece, and are told when', () => {
    const warp = { kind: 'face-difference', maxK: 3, coveredBy: 'measured', source: 'invented' };
    const input = (coldC: (s: number) => number) => {
      const recipe = {
        ...shellRecipe,
        limits: [{ phase: 'recovery' as const, withinMin: 2 }],
        requirements: [warp] as Requirement[],
      };
      const readings = readingsOf({ ul: coldC, ll: () => 138 }, 600, 10);
      return score(pressLoad(10, { recipe }), canonicalReadings(readings)).requirements[0];
    };
    expect(input(() => 137)).toMatchObject({ verdict: 'in-window' });
    expect(input(() => 130)).toMatchObject({ verdict: 'over' });
    // The cold charge's own dip does not count.
    expect(input((s) => (s < 100 ? 120 : 137.5))).toMatchObject({ verdict: 'in-window' });
  });

  it('air by its temperature, its moisture and that it moves', () => {
    const air = { kind: 'air', maxC: 24, minRhPct: 40, maxRhPct: 65, moving: true };
    const signals = {
      'ra-rh': {
        signal: 'percent' as const,
        plausible: { min: 0, max: 100 },
        expanded: 2,
        ramAreaCm2: null,
      },
      'ra-fan': {
        signal: 'switch' as const,
        plausible: { min: 0, max: 1 },
        expanded: 0,
        ramAreaCm2: null,
      },
    };
    const input = clamped([{ ...air, coveredBy: 'measured', source: 'invented' }], [], { signals });
    const rows = (rhPct: number, fan: number) =>
      readingsOf({ 'ra-rh': () => rhPct, 'ra-fan': () => fan }, 7200, 60);
    expect(judged(input, rows(50, 1)).requirement).toMatchObject({ verdict: 'in-window' });
    expect(judged(input, rows(64, 1)).requirement).toMatchObject({ verdict: 'unproven' });
    expect(judged(input, rows(70, 1)).requirement).toMatchObject({ verdict: 'over' });
    expect(judged(input, rows(50, 0)).requirement).toMatchObject({ verdict: 'under' });
    expect(judged(input).requirement).toMatchObject({ verdict: 'unproven' });
  });
});

describe('limits of the recipe', () => {
  const limits = [
    { phase: 'before-load' as const, minC: 136, maxC: 140 },
    { phase: 'recovery' as const, withinMin: 5 },
    { phase: 'hold' as const, minC: 135, maxC: 140 },
  ];
  const found = (course: (s: number) => number, before = 138) => {
    const recipe = { ...shellRecipe, limits };
    const early = [-20, -10, 0].map((s) => ({ point: 'ul', tMs: s * 1000, value: before }));
    const readings = readingsOf({ ll: () => 138, ul: course }, 1200, 10).filter(
      ({ point, tMs }) => point === 'll' || tMs > 0,
    );
    const result = score(pressLoad(20, { recipe }), canonicalReadings([...early, ...readings]));
    return result.deviations;
  };
  const dip = (s: number) => 138 - 13 * Math.max(0, 1 - s / 240);

  it('a load inside them has no deviation', () => {
    expect(found(dip)).toEqual([]);
  });

  it('before the load, late in recovery, outside the hold: each once, at its worst, and no verdict', () => {
    expect(found(dip, 133)).toMatchObject([
      { phase: 'before-load', zone: 'left', what: 'ul', side: 'short', by: 3, unit: 'K', atMs: 0 },
    ]);
    expect(found((s) => 138 - 13 * Math.max(0, 1 - s / 600))).toMatchObject([
      { phase: 'recovery', side: 'long', by: expect.closeTo(470 / 60 - 5, 1) as number },
      { phase: 'hold', side: 'short' },
    ]);
    expect(found((s) => (s > 700 && s < 800 ? 143 : dip(s)))).toMatchObject([
      { phase: 'hold', side: 'long', by: 3, atMs: 710_000 },
    ]);
  });
});
