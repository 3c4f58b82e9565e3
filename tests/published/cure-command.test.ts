import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { answerOf, csvFile, refusalOf, textFile, wordsOf } from '../fixtures/command.ts';

const glue =
  '{ form: equivalent-time, referenceC: 135, activationEnergyJPerMol: 90000, validC: [105, 150] }';

const cure = (law: string, profile: string, ...options: string[]) => [
  ...['cure', '--law', textFile('law.yaml', law), '--profile', csvFile(profile)],
  ...options,
];

describe('setwell cure', () => {
  test('a dose, from irradiance', async () => {
    const { document } = await answerOf(
      cure('{ form: dose }', 'time_s,irradiance_mw_per_cm2\n0,0\n2,90\n12,90\n'),
    );
    expect(document).toMatchObject({ measure: 'dose', unit: 'mJ/cm²', value: 990 });
  });

  // A floor is no rate: PVAc below its film-forming temperature leaves a chalky film, however long.
  test('a floor and a ceiling are met where a segment crosses them', async () => {
    const law = '{ form: degree-time, baseC: 0, floorC: 10, ceilingC: 30 }';
    const { document } = await answerOf(cure(law, 'time_s,temp_c\n0,0\n2400,40\n'));
    // Of 40 min from 0 to 40 °C, 20 min from 10 to 30 °C at 20 °C on average.
    expect(document['value']).toBeCloseTo(400, 9);
    expect(document['notes']).toHaveLength(2);
    const cold = await answerOf(cure(law, 'time_s,temp_c\n0,9.9\n999999,9.9\n'));
    expect(cold.document['value']).toBe(0);
  });

  test('a profile that leaves the law’s range says for how long', async () => {
    const words = await wordsOf(cure(glue, 'time_s,temp_c\n0,95\n600,115\n1200,115\n'));
    expect(words).toContain('5.00 min below 105 °C, outside the range the law was found in');
  });

  test('a reference outside the process says what its doubt costs', async () => {
    const law =
      '{ form: equivalent-time, referenceC: 180, activationEnergyJPerMol: 90000, standardErrors: { activationEnergyJPerMol: 3000 } }';
    const profile = 'time_s,temp_c\n0,120\n3600,140\n';
    const { document } = await answerOf(cure(law, profile));
    const [note] = document['notes'] as string[];
    // 6 kJ/mol over 120 → 180 °C: e^(6000/8.314·(1/393.15 − 1/453.15)) − 1 = 27.5 %.
    const share = Math.exp((6000 / 8.314462618) * (1 / 393.15 - 1 / 453.15)) - 1;
    const cost = share * (document['value'] as number);
    expect(note).toContain(`up to ${cost.toPrecision(2)} of`);
  });

  test('a step is two rows at one time, and --at there is before any of it', async () => {
    const { document } = await answerOf(
      cure(
        '{ form: degree-time, baseC: 0 }',
        'time_s,temp_c\n0,10\n60,10\n60,30\n120,30\n',
        '--at=60,90,120',
      ),
    );
    expect((document['at'] as { value: number }[]).map(({ value }) => value)).toEqual([10, 25, 40]);
    expect(document['value']).toBe(40);
  });

  test('asking at times in between changes nothing of the whole, to the bit', async () => {
    const law = '{ form: n-th-order, aPerS: 1e7, activationEnergyJPerMol: 70000, n: 1.4 }';
    const profile = 'time_s,temp_c\n0,20\n300,120\n900,131\n1000,90\n';
    const plain = await answerOf(cure(law, profile));
    const asked = await answerOf(cure(law, profile, '--at', '17,303.5,880,1000'));
    expect(asked.document['value']).toBe(plain.document['value']);
    expect((asked.document['at'] as { value: number }[])[3]!.value).toBe(plain.document['value']);
  });

  test('the map is a picture with its window', async () => {
    const words = cure(glue, 'time_s,temp_c\n0,135\n600,135\n');
    const map = join(dirname(words[2]!), 'map.svg');
    await answerOf([...words, '--map', map, '--window', '6,40']);
    const svg = readFileSync(map, 'utf8');
    expect(svg).toContain('role="img"');
    expect(svg).toContain('url(#window)');
    expect(svg.match(/<polyline/g)).toHaveLength(2);
    expect(svg).toContain('6 min');
    expect(svg).toContain('40 min');
  });

  test.each([
    ['time_s,temp_c\n0,20\n60,30\n50,40\n', { code: 'descending', line: 4, field: 'time_s' }],
    ['', { code: 'empty-file' }],
    ['time_s,temp_c\n', { code: 'too-few-rows' }],
    ['time_s,temp_c\n0,20\n', { code: 'too-few-rows' }],
    ['time_s,temp_c\n0,20\n60,NaN\n', { code: 'no-number', line: 3, field: 'temp_c' }],
    ['time_s,temp_c\n0,-274\n60,20\n', { code: 'too-small', line: 2, field: 'temp_c' }],
    ['time_s,temp_f\n0,70\n60,300\n', { code: 'fahrenheit', field: 'temp_f' }],
    ['time_s,temp_c\n0,70\n60,300\n90,320\n', { code: 'fahrenheit', field: 'temp_c' }],
    ['time_s;temp_c\n0;20\n60;30\n', { code: 'other-separator', line: 1 }],
  ])('the profile %o is refused', async (profile, refusal) => {
    expect(await refusalOf(cure(glue, profile))).toMatchObject({ exit: 2, ...refusal });
  });

  test('hot enough to look like °F, and said to be °C', async () => {
    const hot = 'time_s,temp_c\n0,70\n60,300\n90,320\n';
    expect((await answerOf(cure(glue, hot, '--in-celsius'))).exit).toBe(0);
  });

  const profile = 'time_s,temp_c\n0,20\n60,30\n';
  test.each([
    [
      '{ form: equivalent-time, referenceC: 135, activationEnergyJPerMol: 0 }',
      { field: 'activationEnergyJPerMol' },
    ],
    [
      '{ form: equivalent-time, referenceC: 135, activationEnergyJPerMol: -5 }',
      { field: 'activationEnergyJPerMol' },
    ],
    [
      '{ form: equivalent-time, referenceC: -300, activationEnergyJPerMol: 9 }',
      { field: 'referenceC' },
    ],
    [
      '{ form: equivalent-time, referenceKelvin: 400, activationEnergyJPerMol: 9 }',
      { code: 'missing-key' },
    ],
    ['{ form: z-value, referenceC: 100, zK: 0 }', { field: 'zK' }],
    [
      '{ form: n-th-order, aPerS: 1, activationEnergyJPerMol: 9, n: 1, initial: 1.5 }',
      { field: 'initial' },
    ],
    [
      '{ form: degree-time, baseC: 0, diffusion: { c: 1, alphaC0: 0, alphaCTPerK: 0 } }',
      { field: 'diffusion' },
    ],
    ['{ form: degree-time, baseC: 0, floorC: 30, ceilingC: 20 }', { field: 'floorC' }],
    ['{ form: dose, floorC: 10 }', { field: 'floorC' }],
  ])('the law %s is refused', async (law, refusal) => {
    expect(await refusalOf(cure(law, profile))).toMatchObject({ exit: 2, line: 1, ...refusal });
  });

  test.each([
    [['--at', '61'], { code: 'outside-profile', field: '--at' }],
    [['--at', '1,x'], { code: 'no-number', field: '--at' }],
    [['--map', '/nowhere/at/all.svg'], { exit: 2 }],
    [['--map', 'x.svg', '--window', '5,2'], { code: 'wrong-window', field: '--window' }],
  ])('%o is refused', async (options, refusal) => {
    expect(await refusalOf(cure(glue, profile, ...options))).toMatchObject({ exit: 2, ...refusal });
  });
});
