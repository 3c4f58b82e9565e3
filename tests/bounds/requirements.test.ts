import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import type { ScoredEvent, ScoreInput } from '@setwell/shared-models/score/shape';
import { describe, expect, it } from 'vitest';
import { clamped, entered, judged, MIN, said } from '../fixtures/clamped-load.ts';
import { exactly, readingsOf } from '../fixtures/press-load.ts';

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
