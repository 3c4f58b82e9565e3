import { leastSquares } from '@setwell/shared-models/cure/fit/least-squares';
import { straightLine } from '@setwell/shared-models/cure/fit/straight-line';
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { answerOf, csvFile, refusalOf } from '../fixtures/command.ts';

interface Problem {
  form?: string;
  start1: number[];
  start2: number[];
  certified: number[];
  standardDeviations: number[];
  residualSumOfSquares: number;
  rows: { x: number; y: number }[];
}

const dataset = <T = Problem>(name: string): T =>
  JSON.parse(
    readFileSync(new URL(`../fixtures/nist-strd/${name}.json`, import.meta.url), 'utf8'),
  ) as T;

/** Correct leading digits. */
const digits = (value: number, certified: number) =>
  -Math.log10(Math.abs(value / certified - 1) + 1e-16);

const csvOf = ({ rows }: Problem) =>
  csvFile(`x,y\n${rows.map(({ x, y }) => `${x},${y}`).join('\n')}\n`);

// Source: NIST Statistical Reference Datasets, nonlinear regression: certified values.
describe('setwell fit curve beside certified values', () => {
  for (const name of ['Misra1a', 'Chwirut2', 'Lanczos3', 'DanWood', 'Rat42']) {
    const problem = dataset(name);
    const fitFrom = (start: number[]) =>
      answerOf([
        ...['fit', 'curve', csvOf(problem), '--form', problem.form!],
        `--start=${start.join(',')}`,
      ]);
    const expectCertified = (document: Record<string, unknown>) => {
      (document['parameters'] as number[]).forEach((value, i) =>
        expect(digits(value, problem.certified[i]!)).toBeGreaterThan(4),
      );
      (document['standardErrors'] as number[]).forEach((value, i) =>
        expect(digits(value, problem.standardDeviations[i]!)).toBeGreaterThan(4),
      );
      expect(
        digits(document['residualSumOfSquares'] as number, problem.residualSumOfSquares),
      ).toBeGreaterThan(6);
    };

    test(`${name} from the near start`, async () => {
      const { exit, document } = await fitFrom(problem.start2);
      expect({ exit, converged: document['converged'] }).toEqual({ exit: 0, converged: true });
      expectCertified(document);
    });

    test(`${name} from the far start: certified, or said not to have converged`, async () => {
      const { exit, document } = await fitFrom(problem.start1);
      if (document['converged'] === true) return expectCertified(document);
      expect(document).toMatchObject({ parameters: null, standardErrors: null });
      expect(exit).toBe(1);
    });
  }
});

describe('the method beneath, on problems made to be hard', () => {
  const models: Record<string, (b: readonly number[], x: number) => number> = {
    Misra1b: ([b1, b2], x) => b1! * (1 - (1 + (b2! * x) / 2) ** -2),
    MGH09: ([b1, b2, b3, b4], x) => (b1! * (x * x + x * b2!)) / (x * x + x * b3! + b4!),
    Kirby2: ([b1, b2, b3, b4, b5], x) =>
      (b1! + b2! * x + b3! * x * x) / (1 + b4! * x + b5! * x * x),
    Hahn1: ([b1, b2, b3, b4, b5, b6, b7], x) =>
      (b1! + b2! * x + b3! * x * x + b4! * x ** 3) / (1 + b5! * x + b6! * x * x + b7! * x ** 3),
    Bennett5: ([b1, b2, b3], x) => b1! * (b2! + x) ** (-1 / b3!),
  };

  test.each(Object.entries(models))('%s', (name, model) => {
    const problem = dataset(name);
    const fit = leastSquares(
      (b) => problem.rows.map(({ x }) => model(b, x)),
      problem.rows.map(({ y }) => y),
      problem.start2,
    );
    if (!fit.converged) throw new Error(`${name}: ${fit.because}`);
    fit.parameters.forEach((value, i) =>
      expect(digits(value, problem.certified[i]!)).toBeGreaterThan(4),
    );
    fit.standardErrors!.forEach((value, i) =>
      expect(digits(value, problem.standardDeviations[i]!)).toBeGreaterThan(4),
    );
  });

  test('a straight line, Norris', () => {
    const norris = dataset<{
      intercept: number;
      interceptStandardDeviation: number;
      slope: number;
      slopeStandardDeviation: number;
      rows: { x: number; y: number }[];
    }>('Norris');
    const line = straightLine(
      norris.rows.map(({ x }) => x),
      norris.rows.map(({ y }) => y),
    );
    expect(digits(line.slope, norris.slope)).toBeGreaterThan(11);
    expect(digits(line.intercept, norris.intercept)).toBeGreaterThan(10);
    expect(digits(line.slopeStandardError!, norris.slopeStandardDeviation)).toBeGreaterThan(10);
    expect(digits(line.interceptStandardError!, norris.interceptStandardDeviation)).toBeGreaterThan(
      10,
    );
  });
});

describe('what does not converge is not returned', () => {
  test('points that cannot tell the parameters apart', async () => {
    // A straight line through the origin fixes only the product of the two.
    const rows = [1, 2, 3, 4, 5].map((x) => `${x * 1e-9},${x * 1e-6}`);
    const { exit, document } = await answerOf([
      ...['fit', 'curve', csvFile(`x,y\n${rows.join('\n')}\n`)],
      ...['--form', 'first-order', '--start', '500,2'],
    ]);
    expect(exit).toBe(1);
    expect(document).toMatchObject({ converged: false, parameters: null, standardErrors: null });
  });

  test('a start that gives no numbers', async () => {
    const { exit, document } = await answerOf([
      ...['fit', 'curve', csvFile('x,y\n-1000,1\n-2000,2\n-3000,3\n')],
      ...['--form', 'first-order', '--start', '1,5'],
    ]);
    expect({ exit, because: document['because'] }).toEqual({ exit: 1, because: 'bad-start' });
  });

  test.each([
    [['--form', 'first-order', '--start', '1'], 'wrong-start', '--start'],
    [['--form', 'first-order', '--start', '1,b'], 'wrong-start', '--start'],
    [['--form', 'firstorder', '--start', '1,2'], 'unknown-form', '--form'],
  ])('%o is refused', async (options, code, field) => {
    const file = csvFile('x,y\n1,2\n2,3\n3,5\n');
    const refusal = await refusalOf(['fit', 'curve', file, ...options]);
    expect(refusal).toMatchObject({ exit: 2, code, field });
  });

  test('fewer points than parameters, a power of nothing, no numbers', async () => {
    const curve = (text: string, form: string, start: string) =>
      refusalOf(['fit', 'curve', csvFile(text), '--form', form, '--start', start]);
    expect(await curve('x,y\n1,2\n2,3\n', 'logistic', '1,1,1')).toMatchObject({
      code: 'too-few-rows',
    });
    expect(await curve('x,y\n0,2\n2,3\n', 'power', '1,1')).toMatchObject({ line: 2, field: 'x' });
    expect(await curve('x,y\n1,2\n2,NaN\n', 'power', '1,1')).toMatchObject({ line: 3, field: 'y' });
  });
});
