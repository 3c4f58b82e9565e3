import { survey } from '@setwell/shared-models/condition/survey';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { answerOf, csvFile, refusalOf } from '../fixtures/command.ts';

/** Nine points of a box: eight corners and the centre. */
const meansC = [118, 119, 121.5, 120, 117.5, 120.5, 122, 119.5, 120];

// Worked by hand from the definitions. The set of figures is the common core of published pyrometry
// requirements; which letters a standard gives them, and nine points for a box, is common practice, no source.
describe('survey worked by hand, 120 ± 5 °C', () => {
  const still = meansC.map((c, i) => ({ point: `s${i + 1}`, samplesC: [c, c, c] }));

  test('uniformity 4.5 K, worst −2.5 K, inside', () => {
    const figures = survey(still, 120, 5);
    expect(figures.uniformityK).toBe(4.5);
    expect(figures.worstDeviationK).toBe(-2.5);
    expect(figures.worst).toEqual({ point: 's5', sample: 0 });
    expect(figures.inside).toBe(true);
    expect(figures.overallSpreadK).toBe(4.5);
    expect(figures.fluctuationK.every(({ k }) => k === 0)).toBe(true);
  });

  test('one sample of 125.2 °C is outside, though each mean is inside', () => {
    const points = still.map((each) =>
      each.point === 's7' ? { ...each, samplesC: [120.4, 125.2, 120.4] } : each,
    );
    const figures = survey(points, 120, 5);
    expect(figures.means.every(({ c }) => Math.abs(c - 120) <= 5)).toBe(true);
    expect(figures.worstDeviationK).toBeCloseTo(5.2, 9);
    expect(figures.worst).toEqual({ point: 's7', sample: 1 });
    expect(figures.inside).toBe(false);
    expect(figures.fluctuationK[6]!.k).toBeCloseTo(2.4, 9);
    expect(figures.overallSpreadK).toBeCloseTo(125.2 - 117.5, 9);
  });

  test('a sample exactly at the tolerance is inside, whatever doubles make of it', () => {
    expect(survey([{ point: 'a', samplesC: [120.3] }], 120.1, 0.2).inside).toBe(true);
    expect(survey([{ point: 'a', samplesC: [120.3001] }], 120.1, 0.2).inside).toBe(false);
  });

  test('order of points and samples changes no figure', () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(fc.integer({ min: 1000, max: 1400 }), { minLength: 4, maxLength: 4 }), {
          minLength: 1,
          maxLength: 9,
        }),
        (rows) => {
          const points = rows.map((row, i) => ({
            point: `p${i}`,
            samplesC: row.map((c) => c / 10),
          }));
          const turned = points
            .map(({ point, samplesC }) => ({ point, samplesC: [...samplesC].reverse() }))
            .reverse();
          const [a, b] = [survey(points, 120, 5), survey(turned, 120, 5)];
          expect(b.uniformityK).toBeCloseTo(a.uniformityK, 9);
          expect(b.overallSpreadK).toBe(a.overallSpreadK);
          expect(Math.abs(b.worstDeviationK)).toBeCloseTo(Math.abs(a.worstDeviationK), 9);
          expect(b.inside).toBe(a.inside);
        },
      ),
      { seed: 20260302 },
    );
  });
});

describe('setwell survey', () => {
  const rowsOf = (samples: number[][]) =>
    samples.map((row, i) => [i * 60, ...row].join(',')).join('\n');
  const heading = `time_s,${meansC.map((_, i) => `s${i + 1}`).join(',')}`;
  const words = ['--set-point', '120', '--tolerance', '5'];

  test('answers the hand case with the figures of the contract', async () => {
    const file = csvFile(`${heading}\n${rowsOf([meansC, meansC])}\n`);
    const { document, exit } = await answerOf(['survey', file, ...words]);
    expect(exit).toBe(0);
    expect(document).toEqual({
      means: meansC.map((c, i) => ({ point: `s${i + 1}`, c })),
      placeK: 2.25,
      uniformityK: 4.5,
      overallSpreadK: 4.5,
      fluctuationK: meansC.map((_, i) => ({ point: `s${i + 1}`, k: 0 })),
      worstDeviationK: -2.5,
      inside: true,
    });
  });

  test('takes the soak from --from to --to, both inclusive, and exits 0 when outside', async () => {
    const cold = meansC.map(() => 20);
    const hot = meansC.map(() => 126);
    const file = csvFile(`${heading}\n${rowsOf([cold, meansC, meansC, hot])}\n`);
    const soak = await answerOf(['survey', file, ...words, '--from', '60', '--to', '120']);
    expect(soak.document).toMatchObject({ inside: true, worstDeviationK: -2.5 });
    const longer = await answerOf(['survey', file, ...words, '--from', '60', '--to', '180']);
    expect(longer).toMatchObject({ exit: 0, document: { inside: false, worstDeviationK: 6 } });
  });

  test('holes before the soak do no harm; inside it they are refused with line and point', async () => {
    const file = csvFile('time_s,a,b\n0,,118\n60,119,118\n120,119,\n');
    const words_ = ['survey', file, ...words, '--from', '60'];
    expect(await answerOf([...words_, '--to', '60'])).toMatchObject({ exit: 0 });
    expect(await refusalOf(words_)).toMatchObject({
      exit: 2,
      code: 'empty-cell',
      line: 4,
      field: 'b',
    });
  });

  test.each([
    ['no point columns', 'time_s\n0\n', 'missing-column', undefined],
    ['a column in °F', 'time_s,a_f\n0,250\n', 'fahrenheit', 'a_f'],
    ['numbers that are °F', 'time_s,a\n0,450\n60,470\n', 'fahrenheit', 'a'],
    ['a temperature below 0 K', 'time_s,a\n0,-300\n', 'too-small', 'a'],
    ['a word for a number', 'time_s,a\n0,hot\n', 'no-number', 'a'],
    ['a decimal comma', 'time_s,a\n0,"118,5"\n', 'decimal-comma', 'a'],
    ['times that fall', 'time_s,a\n60,119\n0,118\n', 'descending', 'time_s'],
    ['no rows', 'time_s,a\n', 'too-few-rows', undefined],
    ['an empty file', '', 'empty-file', undefined],
    ['a short row', 'time_s,a,b\n0,118\n', 'short-row', 'b'],
  ])('refuses %s', async (_, text, code, field) => {
    const refusal = await refusalOf(['survey', csvFile(text), ...words]);
    expect(refusal).toMatchObject({ exit: 2, code, ...(field === undefined ? {} : { field }) });
    expect(refusal.expected).not.toBe('');
  });

  test('refuses options that make no survey', async () => {
    const file = csvFile('time_s,a\n0,118\n60,119\n');
    const refused = async (...given: string[]) =>
      (await refusalOf(['survey', file, ...given])).code;
    expect(await refused('--set-point', '120', '--tolerance', '0')).toBe('out-of-range');
    expect(await refused('--set-point', '120', '--tolerance', '-5')).toBe('out-of-range');
    expect(await refused('--set-point', 'x', '--tolerance', '5')).toBe('no-number');
    expect(await refused(...words, '--from', '60', '--to', '0')).toBe('empty-soak');
    expect(await refused(...words, '--from', '500')).toBe('empty-soak');
    expect(await refused('--tolerance', '5')).toBe('missing-option');
  });
});
