import { createLaw } from '@setwell/shared-models/cure/create-law';
import type { Autocatalytic, LawSpec, NthOrder } from '@setwell/shared-models/cure/law-spec';
import { foldProfile } from '@setwell/shared-models/cure/profile';
import fc from 'fast-check';
import { createRequire } from 'node:module';
import { describe, expect, test } from 'vitest';
import { epoxyThatStiffens, epoxyWithSwitch } from '../fixtures/kinetics.ts';

/** Its types are its sources, which this project's stricter settings refuse. */
const { Solver } = createRequire(import.meta.url)('odex') as {
  Solver: new (equations: number) => {
    absoluteTolerance: number;
    relativeTolerance: number;
    maxSteps: number;
    solve(
      rate: (t: number, y: number[]) => number[],
      from: number,
      start: number[],
      to: number,
    ): { y: number[] };
  };
};

/** The same cases on every run; a found one becomes a test of its own. */
fc.configureGlobal({ seed: 20260302 });

const gasConstant = 8.314462618;

const range = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const energy = range(35_000, 110_000);

/** k at 120 °C between once an hour and once a minute: cures of this trade. */
const arrhenius = fc.tuple(energy, range(-8, -4)).map(([activationEnergyJPerMol, lnK]) => ({
  aPerS: Math.exp(lnK + activationEnergyJPerMol / (gasConstant * 393.15)),
  activationEnergyJPerMol,
}));

const equivalentTime = energy.map((activationEnergyJPerMol) => ({
  form: 'equivalent-time' as const,
  referenceC: 120,
  activationEnergyJPerMol,
}));
const zValue = range(5, 40).map((zK) => ({ form: 'z-value' as const, referenceC: 120, zK }));
const degreeTime = range(-20, 60).map((baseC) => ({ form: 'degree-time' as const, baseC }));
const nthOrder: fc.Arbitrary<NthOrder> = fc
  .tuple(arrhenius, range(0.6, 2.5))
  .map(([k, n]) => ({ form: 'n-th-order', ...k, n }));
const autocatalytic: fc.Arbitrary<Autocatalytic> = fc
  .tuple(arrhenius, arrhenius, range(0.4, 1.6), range(1, 2.5), range(0.005, 0.1))
  .map(([k1, k2, m, n, initial]) => ({
    form: 'autocatalytic',
    k1: { ...k1, aPerS: k1.aPerS / 20 },
    k2,
    m,
    n,
    initial,
  }));
const stiffening: fc.Arbitrary<Autocatalytic> = autocatalytic.map((spec) => ({
  ...spec,
  diffusion: { c: 30, alphaC0: -1.1, alphaCTPerK: 4.5e-3 },
}));
const anyLaw: fc.Arbitrary<LawSpec> = fc
  .tuple(
    fc.oneof(equivalentTime, zValue, degreeTime, nthOrder, autocatalytic, stiffening),
    fc.option(range(20, 60), { nil: undefined }),
    fc.option(range(150, 180), { nil: undefined }),
  )
  .map(([spec, floorC, ceilingC]) => ({ ...spec, floorC, ceilingC }) as LawSpec);

/** Temperatures of a profile at its own, uneven times. */
const profile = fc
  .array(fc.tuple(range(1, 900), range(0, 200)), { minLength: 3, maxLength: 12 })
  .map((rows) => {
    let timeS = 0;
    return {
      timesS: rows.map(([stepS], i) => (timeS += i === 0 ? 0 : stepS)),
      tempsC: rows.map(([, tempC]) => tempC),
    };
  });

const folded = (spec: LawSpec, { timesS, tempsC }: { timesS: number[]; tempsC: number[] }) =>
  foldProfile(createLaw(spec), timesS, tempsC);

describe('folding a profile', () => {
  test('split at any row, the parts give the whole to the byte', () => {
    fc.assert(
      fc.property(anyLaw, profile, fc.nat(), (spec, { timesS, tempsC }, at) => {
        const law = createLaw(spec);
        const row = at % timesS.length;
        const first = foldProfile(law, timesS.slice(0, row + 1), tempsC.slice(0, row + 1));
        const whole = foldProfile(law, timesS.slice(row), tempsC.slice(row), first);
        expect(Object.is(whole, foldProfile(law, timesS, tempsC))).toBe(true);
      }),
      { numRuns: 300 },
    );
  });

  test('many places at once earn what each earns alone, to the byte', () => {
    const place = fc.tuple(range(0, 0.9), range(0, 200), range(0, 200), range(0, 900));
    fc.assert(
      fc.property(anyLaw, fc.array(place, { minLength: 1, maxLength: 8 }), (spec, places) => {
        const law = createLaw(spec);
        const row = (i: number) => Float64Array.from(places, (each) => each[i]!);
        const states = row(0);
        law.advanceEach(states, { fromC: row(1), toC: row(2), durationS: row(3) });
        expect([...states]).toEqual(places.map((each) => law.advance(...each)));
      }),
      { numRuns: 300 },
    );
  });

  test('a segment cut in two gives the same within 1e-8', () => {
    fc.assert(
      fc.property(
        anyLaw,
        range(0, 200),
        range(0, 200),
        range(1, 3600),
        range(0.01, 0.99),
        (spec, fromC, toC, durationS, share) => {
          const law = createLaw(spec);
          const whole = law.advance(law.initial, fromC, toC, durationS);
          const middleC = fromC + share * (toC - fromC);
          const half = law.advance(law.initial, fromC, middleC, share * durationS);
          const parts = law.advance(half, middleC, toC, (1 - share) * durationS);
          expect(Math.abs(parts - whole)).toBeLessThanOrEqual(1e-8 * whole + 1e-12);
        },
      ),
      { numRuns: 300 },
    );
  });

  test('segments of 1e-8 K and of 100 K are as exact as each other', () => {
    fc.assert(
      fc.property(fc.oneof(equivalentTime, nthOrder, autocatalytic, stiffening), (spec) => {
        const law = createLaw(spec);
        const coarse = law.advance(law.initial, 60, 160, 1800);
        let fine = law.initial;
        for (let i = 0; i < 500; i++) fine = law.advance(fine, 60 + i / 5, 60.2 + i / 5, 3.6);
        expect(Math.abs(fine / coarse - 1)).toBeLessThan(1e-8);
        const still = law.advance(law.initial, 120, 120, 60) - law.initial;
        const tiny = law.advance(law.initial, 120, 120 + 1e-8, 60) - law.initial;
        expect(Math.abs(tiny / still - 1)).toBeLessThan(1e-8);
      }),
      { numRuns: 60 },
    );
  });

  test('the time still needed is the time it takes', () => {
    fc.assert(
      fc.property(
        fc.oneof(equivalentTime, zValue, nthOrder, autocatalytic, stiffening),
        range(90, 160),
        range(60, 3000),
        (spec, heldC, durationS) => {
          const law = createLaw(spec);
          const reached = law.advance(law.initial, heldC, heldC, durationS);
          // Where almost nothing is left to react, time hangs on the last digits of what is.
          fc.pre(law.unit !== '1' || reached < 0.999);
          const needed = law.secondsToReach(law.initial, reached, heldC);
          const again = law.advance(law.initial, heldC, heldC, needed);
          expect(Math.abs(again - reached)).toBeLessThanOrEqual(1e-8 * reached);
        },
      ),
      { numRuns: 200 },
    );
  });
});

describe('the equivalence theorem', () => {
  /** Degree of cure after a profile, and after its equivalent time held at 120 °C. */
  const both = (
    spec: LawSpec,
    activationEnergyJPerMol: number,
    run: { timesS: number[]; tempsC: number[] },
  ) => {
    const law = createLaw(spec);
    const age = createLaw({
      form: 'equivalent-time',
      referenceC: 120,
      activationEnergyJPerMol,
      gasConstant: spec.gasConstant,
    });
    const equivalentS = foldProfile(age, run.timesS, run.tempsC) * 60;
    return [
      foldProfile(law, run.timesS, run.tempsC),
      law.advance(law.initial, 120, 120, equivalentS),
    ] as const;
  };

  // da/dt = k(T)·f(a): time counts only through equivalent time.
  test('holds for one activation energy', () => {
    fc.assert(
      fc.property(fc.oneof(nthOrder, autocatalytic), profile, (spec, run) => {
        const single: LawSpec = spec.form === 'autocatalytic' ? { ...spec, k1: undefined } : spec;
        const theirs =
          spec.form === 'autocatalytic'
            ? spec.k2.activationEnergyJPerMol
            : spec.activationEnergyJPerMol;
        const [profiled, held] = both(single, theirs, run);
        expect(Math.abs(profiled - held)).toBeLessThanOrEqual(2e-8 * held);
      }),
      { numRuns: 200 },
    );
  });

  const cycle = { timesS: [0, 2184, 5784, 7248, 9000], tempsC: [25, 116, 116, 177, 177] };

  // Counter-examples: several energies (Lee, Loos & Springer), T in the diffusion term (Hubert et al.).
  test('does not hold for several energies', () => {
    const first = { timesS: cycle.timesS.slice(0, 3), tempsC: cycle.tempsC.slice(0, 3) };
    const [profiled, held] = both(epoxyWithSwitch, 56_600, first);
    expect(Math.abs(profiled - held)).toBeGreaterThan(0.01);
  });

  test('does not hold where diffusion knows the temperature', () => {
    const [profiled, held] = both(epoxyThatStiffens, 66_500, cycle);
    expect(Math.abs(profiled - held)).toBeGreaterThan(0.01);
  });
});

describe('monotonicity', () => {
  test('hotter never cures less, where the law says its rate rises', () => {
    fc.assert(
      fc.property(
        fc.oneof(equivalentTime, zValue, degreeTime, nthOrder, autocatalytic, stiffening),
        profile,
        range(0, 15),
        (spec, run, byK) => {
          expect(createLaw(spec).risesWithTemperature(0, 215)).toBe(true);
          const hotter = { timesS: run.timesS, tempsC: run.tempsC.map((tempC) => tempC + byK) };
          const value = folded(spec, run);
          expect(folded(spec, hotter)).toBeGreaterThanOrEqual(value * (1 - 1e-9));
        },
      ),
      { numRuns: 300 },
    );
  });

  test('more time never cures less', () => {
    fc.assert(
      fc.property(
        anyLaw,
        range(0, 200),
        range(0, 200),
        range(0, 3600),
        (spec, fromC, toC, durationS) => {
          const law = createLaw(spec);
          expect(law.advance(law.initial, fromC, toC, durationS)).toBeGreaterThanOrEqual(
            law.initial,
          );
        },
      ),
      { numRuns: 300 },
    );
  });

  test('a law whose rate falls with temperature says so', () => {
    // The slowing term grows with temperature faster than the rate: hotter is slower.
    const falling = createLaw({
      ...epoxyThatStiffens,
      diffusion: { c: 43, alphaC0: 2.4, alphaCTPerK: -5e-3 },
    });
    expect(falling.risesWithTemperature(100, 180)).toBe(false);
    expect(falling.advance(0.4, 180, 180, 60)).toBeLessThan(falling.advance(0.4, 140, 140, 60));
    expect(createLaw(epoxyThatStiffens).risesWithTemperature(100, 180)).toBe(true);
  });
});

describe('a second opinion', () => {
  /** Degree of cure by odex (Gragg-Bulirsch-Stoer) over each segment, its rate written here anew. */
  function byOdex(spec: Autocatalytic, { timesS, tempsC }: { timesS: number[]; tempsC: number[] }) {
    const k = (each: Autocatalytic['k2'] | undefined, tempK: number) =>
      each === undefined
        ? 0
        : each.aPerS * Math.exp(-each.activationEnergyJPerMol / (gasConstant * tempK));
    const rate = (alpha: number, tempK: number) => {
      const chemical =
        (k(spec.k1, tempK) + k(spec.k2, tempK) * Math.max(0, alpha) ** spec.m) *
        Math.max(0, 1 - alpha) ** spec.n;
      const { c, alphaC0, alphaCTPerK } = spec.diffusion!;
      return chemical / (1 + Math.exp(c * (alpha - (alphaC0 + alphaCTPerK * tempK))));
    };
    let alpha = spec.initial!;
    for (let i = 1; i < timesS.length; i++) {
      const spanS = timesS[i]! - timesS[i - 1]!;
      const slope = (tempsC[i]! - tempsC[i - 1]!) / spanS;
      const fromK = tempsC[i - 1]! + 273.15;
      const solver = new Solver(1);
      solver.absoluteTolerance = 1e-12;
      solver.relativeTolerance = 1e-12;
      solver.maxSteps = 100_000;
      alpha = solver.solve((t, [a]) => [rate(a!, fromK + slope * t)], 0, [alpha], spanS).y[0]!;
    }
    return alpha;
  }

  test('random laws over random profiles agree to 1e-7', () => {
    fc.assert(
      fc.property(stiffening, profile, (spec, run) => {
        const ours = folded(spec, run);
        expect(Math.abs(ours / byOdex(spec, run) - 1)).toBeLessThan(1e-7);
      }),
      { numRuns: 60 },
    );
  }, 60_000);
});

describe('glass', () => {
  // No rate while T < Tg: however it is heated, Tg never passes the hottest temperature so far.
  test('cure never outruns the temperature', () => {
    fc.assert(
      fc.property(nthOrder, profile, (spec, { timesS, tempsC }) => {
        const glass = { tg0C: -30, tgInfC: 180, lambda: 0.4 };
        const law = createLaw({ ...spec, glass });
        let alpha = 0;
        let hottestC = -Infinity;
        for (let i = 1; i < timesS.length; i++) {
          hottestC = Math.max(hottestC, tempsC[i - 1]!, tempsC[i]!);
          alpha = law.advance(alpha, tempsC[i - 1]!, tempsC[i]!, timesS[i]! - timesS[i - 1]!);
          const tgC = -30 + (210 * 0.4 * alpha) / (1 - 0.6 * alpha);
          expect(tgC).toBeLessThanOrEqual(Math.max(hottestC, -30) + 1e-6);
        }
        expect(alpha).toBeLessThanOrEqual(folded(spec, { timesS, tempsC }) + 1e-9);
      }),
      { numRuns: 200 },
    );
  });

  test('a segment cut in two gives the same, through glass and slide too', () => {
    fc.assert(
      fc.property(
        nthOrder,
        range(-10, 60),
        range(60, 170),
        range(600, 30_000),
        range(0.05, 0.95),
        (spec, fromC, toC, durationS, share) => {
          const law = createLaw({ ...spec, glass: { tg0C: -30, tgInfC: 180, lambda: 0.4 } });
          const whole = law.advance(0, fromC, toC, durationS);
          const middleC = fromC + share * (toC - fromC);
          const half = law.advance(0, fromC, middleC, share * durationS);
          const parts = law.advance(half, middleC, toC, (1 - share) * durationS);
          expect(Math.abs(parts - whole)).toBeLessThanOrEqual(2e-8 * whole + 1e-12);
        },
      ),
      { numRuns: 200 },
    );
  });
});

test('what cannot be a segment is a bug of the caller, and throws', () => {
  const law = createLaw({ form: 'degree-time', baseC: 0 });
  const kinetic = createLaw(epoxyWithSwitch);
  const age = createLaw({ form: 'equivalent-time', referenceC: 120, activationEnergyJPerMol: 8e4 });
  for (const each of [law, kinetic, age]) {
    expect(() => each.advance(0, -300, 20, 1)).toThrow(RangeError);
    expect(() => each.advance(0, 20, 20, -1)).toThrow(RangeError);
    expect(() => each.advance(0, NaN, 20, 1)).toThrow(RangeError);
    expect(() => each.advance(0, 20, 20, NaN)).toThrow(RangeError);
    const [fromC, toC, durationS] = [
      Float64Array.of(20),
      Float64Array.of(-300),
      Float64Array.of(1),
    ];
    expect(() => each.advanceEach(Float64Array.of(0), { fromC, toC, durationS })).toThrow(
      RangeError,
    );
  }
});
