import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { answerOf, csvFile, refusalOf } from '../fixtures/command.ts';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'survey-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

const asked = ['--set-point', '138', '--tolerance', '5'];
const plant = new URL('../fixtures/press-plant/plant.yaml', import.meta.url).pathname;

const nine = (offK: (index: number) => number) =>
  [
    `time_s,${Array.from({ length: 9 }, (_, i) => `s${i + 1}`).join(',')}`,
    ...[0, 60, 120].map((t) =>
      [t, ...Array.from({ length: 9 }, (_, i) => 138 + offK(i))].join(','),
    ),
  ].join('\n');

test('a map, a sheet, and the last survey beside it', async () => {
  const file = csvFile(nine((i) => (i === 6 ? -4 : 0.5)));
  const before = csvFile(nine((i) => (i === 6 ? -1 : 0.5)));
  const [map, pdf] = [join(folder, 'map.svg'), join(folder, 'sheet.pdf')];
  const { document } = await answerOf([
    ...['survey', file, ...asked, '--grid', '3x3', '--before', before],
    ...['--map', map, '--pdf', pdf, '--by', 'M. Aker'],
  ]);
  const answer = document as unknown as {
    placeK: number;
    comparison: { points: { point: string; changeK: number }[] };
  };
  expect(answer.placeK).toBeCloseTo(2.25, 9);
  expect(answer.comparison.points[0]?.point).toBe('s7');
  expect(answer.comparison.points[0]?.changeK).toBeCloseTo((-3 * 8) / 9, 9);

  const svg = readFileSync(map, 'utf8');
  expect(svg.match(/<rect [^>]*width="150"/g)).toHaveLength(9);
  expect(svg).toContain('134.0 °C');
  expect(svg).toContain('−4.0 K');

  const text = execFileSync('pdftotext', ['-layout', pdf, '-'], { encoding: 'utf8' });
  for (const told of ['inside', 's7', '134.00', 'M. Aker', 'SHA-256', 'Against the last survey']) {
    expect(text).toContain(told);
  }
});

test('samples as shown are corrected first, by the certificates of the day', async () => {
  const rows = 'time_s,p1-ul,p1-ll\n0,138,139\n60,138,139\n';
  const { document: answer } = await answerOf([
    ...['survey', csvFile(rows), ...asked, '--plant', plant, '--date', '2026-03-02'],
  ]);
  expect(answer).toMatchObject({
    means: [
      { point: 'p1-ul', c: 138 },
      { point: 'p1-ll', c: 139 },
    ],
  });
});

test.each([
  ['a grid that does not fit', ['--grid', '2x3'], { code: 'grid-does-not-fit', field: '--grid' }],
  ['a grid that is none', ['--grid', 'nine'], { code: 'grid-does-not-fit', field: '--grid' }],
  ['a map without a grid', ['--map', 'x.svg'], { code: 'missing-option', field: '--grid' }],
  ['a plant without a day', ['--plant', plant], { code: 'missing-option', field: '--date' }],
  [
    'points the plant has not',
    ['--plant', plant, '--date', '2026-03-02'],
    { code: 'unknown-point', field: 's1' },
  ],
])('%s is refused by its name', async (_name, more, expected) => {
  const refusal = await refusalOf(['survey', csvFile(nine(() => 0)), ...asked, ...more]);
  expect(refusal).toMatchObject(expected);
});

test('a sample outside the calibrated range, and a day before the certificate, are refused', async () => {
  const hot = csvFile('time_s,p1-ul\n0,138\n60,171\n');
  const on = (date: string) => ['survey', hot, ...asked, '--plant', plant, '--date', date];
  expect(await refusalOf(on('2026-03-02'))).toMatchObject({
    code: 'outside-calibration',
    field: 'p1-ul',
    line: 3,
    found: '171 °C',
  });
  expect(await refusalOf(on('2025-12-31'))).toMatchObject({ code: 'no-certificate' });
});
