import { createLaw } from '@setwell/shared-models/cure/create-law';
import type { ConversionFit } from '@setwell/shared-models/cure/fit/conversion';
import type { IsoconversionalRow } from '@setwell/shared-models/cure/fit/isoconversional';
import type { Autocatalytic, LawSpec, NthOrder } from '@setwell/shared-models/cure/law-spec';
import { describe, expect, test } from 'vitest';
import { answerOf, csvFile, refusalOf } from '../fixtures/command.ts';
import { seededNormal } from '../fixtures/seeded-normal.ts';

const second: NthOrder = {
  form: 'n-th-order',
  aPerS: 1e7,
  activationEnergyJPerMol: 70_000,
  n: 1.4,
};

/** Runs that a law makes: held at 110…140 °C to 0.95, or heated at 2…20 K/min from 40 °C. */
function curvesOf(spec: LawSpec, kind: 'held' | 'heated', noise: () => number = () => 0): string {
  const law = createLaw(spec);
  const programmes = kind === 'held' ? [110, 120, 130, 140] : [2, 5, 10, 20];
  const rows = programmes.flatMap((each) => {
    const endS = kind === 'held' ? law.secondsToReach(law.initial, 0.95, each) : (160 / each) * 60;
    let alpha = law.initial;
    let [beforeS, beforeC] = [0, kind === 'held' ? each : 40];
    return Array.from({ length: 61 }, (_, i) => {
      const timeS = (endS * i) / 60;
      const tempC = kind === 'held' ? each : 40 + (each * timeS) / 60;
      alpha = law.advance(alpha, beforeC, tempC, timeS - beforeS);
      [beforeS, beforeC] = [timeS, tempC];
      const read = i === 0 ? alpha : Math.min(1, Math.max(0, alpha + noise()));
      return `r${each},${timeS},${tempC},${read}`;
    });
  });
  return csvFile(`run,time_s,temp_c,alpha\n${rows.join('\n')}\n`);
}

const conversion = (file: string, form: string, ...options: string[]) =>
  answerOf(['fit', 'conversion', file, '--form', form, ...options]);

describe('setwell fit conversion', () => {
  test.each(['held', 'heated'] as const)('an n-th order law comes back, %s', async (kind) => {
    const { exit, document } = await conversion(curvesOf(second, kind), 'n-th-order');
    expect(exit).toBe(0);
    const law = document['law'] as NthOrder;
    expect(law.activationEnergyJPerMol).toBeCloseTo(70_000, 2);
    expect(law.n).toBeCloseTo(1.4, 7);
    expect(law.aPerS / 1e7).toBeCloseTo(1, 6);
    expect(Object.keys(law.standardErrors!).sort()).toEqual([
      'aPerS',
      'activationEnergyJPerMol',
      'n',
    ]);
  });

  test('an autocatalytic law of two constants comes back', async () => {
    const spec: Autocatalytic = {
      form: 'autocatalytic',
      k1: { aPerS: 1e6, activationEnergyJPerMol: 75_000 },
      k2: { aPerS: 2e6, activationEnergyJPerMol: 60_000 },
      m: 0.8,
      n: 1.5,
    };
    const { document } = await conversion(curvesOf(spec, 'heated'), 'autocatalytic');
    const law = document['law'] as Autocatalytic;
    expect(law.k1!.activationEnergyJPerMol).toBeCloseTo(75_000, 0);
    expect(law.k2.activationEnergyJPerMol).toBeCloseTo(60_000, 0);
    expect([law.m, law.n].map((each) => Math.round(each * 1e5) / 1e5)).toEqual([0.8, 1.5]);
  });

  // The check of a standard error: over many noisy repeats the truth lies within two of them.
  test('standard errors say how far the truth may be', async () => {
    const normal = seededNormal(7);
    let inside = 0;
    const repeats = 40;
    for (let i = 0; i < repeats; i++) {
      const file = curvesOf(second, 'heated', () => 0.004 * normal());
      const { document } = await conversion(file, 'n-th-order');
      const law = document['law'] as NthOrder;
      const error = law.standardErrors!['activationEnergyJPerMol']!;
      if (Math.abs(law.activationEnergyJPerMol - 70_000) <= 2 * error) inside++;
    }
    // 95.4 % expected; fewer than 33 of 40 happens once in 5,000 times.
    expect(inside).toBeGreaterThanOrEqual(33);
  });

  // Methods: Friedman (rates) and an integral after Vyazovkin, as in Thermochim. Acta 520 (2011) 1-19.
  test.each(['held', 'heated'] as const)(
    'energy at each conversion by both methods, %s: one energy all along',
    async (kind) => {
      const file = curvesOf(second, kind);
      const { document } = await conversion(file, 'n-th-order', '--isoconversional');
      const rows = document['isoconversional'] as IsoconversionalRow[];
      expect(rows.map(({ alpha }) => alpha)).toEqual([0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9]);
      for (const { alpha, differential, integral } of rows) {
        // What 60 rows a run and a parabola through them leave of the truth.
        for (const energy of [differential, integral]) {
          expect(
            Math.abs(energy!.activationEnergyJPerMol / 70_000 - 1),
            `at ${alpha}`,
          ).toBeLessThan(0.015);
        }
      }
    },
  );

  test('a law of two energies shows: the energy changes with conversion', async () => {
    const file = curvesOf(
      {
        form: 'autocatalytic',
        k1: { aPerS: 3e9, activationEnergyJPerMol: 95_000 },
        k2: { aPerS: 2e5, activationEnergyJPerMol: 55_000 },
        m: 1,
        n: 1.5,
      },
      'held',
    );
    const { document } = await conversion(file, 'n-th-order', '--isoconversional');
    const rows = document['isoconversional'] as IsoconversionalRow[];
    const energyAt = (alpha: number) =>
      rows.find((row) => row.alpha === alpha)!.differential!.activationEnergyJPerMol;
    expect(energyAt(0.1) - energyAt(0.8)).toBeGreaterThan(8_000);
  });

  test('one temperature fits no energy: not converged, nothing usable, exit 1', async () => {
    const rows = Array.from({ length: 20 }, (_, i) => `a,${i * 60},120,${1 - Math.exp(-i / 8)}`);
    const { exit, document } = await conversion(
      csvFile(`run,time_s,temp_c,alpha\n${rows.join('\n')}\n`),
      'n-th-order',
    );
    expect(exit).toBe(1);
    expect(document).toMatchObject({ converged: false, because: 'one-temperature', law: null });
  });

  test('few rows, few runs and an early end are told with their numbers', async () => {
    const file = csvFile(
      'run,time_s,temp_c,alpha\na,0,110,0\na,600,110,0.2\na,1200,110,0.35\nb,0,130,0\nb,300,130,0.3\nb,600,130,0.5\n',
    );
    const { document } = await conversion(file, 'n-th-order');
    const said = document['warnings'] as ConversionFit['warnings'];
    expect(said.map(({ code }) => code)).toEqual(
      expect.arrayContaining(['few-rows', 'few-runs', 'early-end']),
    );
    expect(said.find(({ code }) => code === 'early-end')!.text).toContain('0.35');
  });

  test('a run that contradicts the others is named', async () => {
    const law = createLaw(second);
    const rows = [110, 120, 130, 140].flatMap((tempC) =>
      Array.from({ length: 30 }, (_, i) => {
        const timeS = i * 120;
        // The run at 130 °C was in truth an oven at 105 °C.
        const trueC = tempC === 130 ? 105 : tempC;
        return `r${tempC},${timeS},${tempC},${law.advance(0, trueC, trueC, timeS)}`;
      }),
    );
    const { document } = await conversion(
      csvFile(`run,time_s,temp_c,alpha\n${rows.join('\n')}\n`),
      'n-th-order',
    );
    const said = (document['warnings'] as ConversionFit['warnings']).map(({ text }) => text);
    expect(said.some((text) => text.startsWith('run r130 lies'))).toBe(true);
  });

  test.each([
    ['a,0,110,0\na,60,110,1.2\na,120,110,0.5', { code: 'too-great', line: 3, field: 'alpha' }],
    ['a,0,110,-0.1\na,60,110,0.2\na,120,110,0.5', { code: 'too-small', line: 2, field: 'alpha' }],
    ['a,0,110,0\na,60,110,0.2\na,30,110,0.5', { code: 'descending', line: 4, field: 'time_s' }],
    ['a,0,110,0\na,60,110,0.2\nb,0,110,0.5', { code: 'too-few-rows', field: 'run' }],
    ['a,0,-300,0\na,60,110,0.2\na,90,110,0.5', { code: 'too-small', line: 2, field: 'temp_c' }],
    ['a,0,68,0\na,60,300,0.2\na,90,350,0.5', { code: 'fahrenheit', field: 'temp_c' }],
    ['a,0,110,0\na,60,110,NaN\na,90,110,0.5', { code: 'no-number', line: 3, field: 'alpha' }],
  ])('%o is refused', async (rows, refusal) => {
    const file = csvFile(`run,time_s,temp_c,alpha\n${rows}\n`);
    expect(await refusalOf(['fit', 'conversion', file, '--form', 'n-th-order'])).toMatchObject({
      exit: 2,
      ...refusal,
    });
  });

  test('a form nobody knows', async () => {
    const words = ['fit', 'conversion', curvesOf(second, 'held'), '--form', 'autocatalitic'];
    const refusal = await refusalOf(words);
    expect(refusal).toMatchObject({ exit: 2, code: 'unknown-form', field: '--form' });
    expect(refusal.expected).toContain('autocatalytic');
  });
});
