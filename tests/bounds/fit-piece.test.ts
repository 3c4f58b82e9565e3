import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { temperatureCourse } from '@setwell/shared-models/heat/course';
import { answerOf, csvFile, refusalOf, textFile, wordsOf } from '../fixtures/command.ts';
import { seededNormal } from '../fixtures/seeded-normal.ts';

interface Told {
  value: number;
  standardError: number;
}

interface Fit {
  contactWPerM2K: Told;
  diffusivityFactor: Told;
  faceOffsetK: Told;
  plateauShare: Told | null;
  startC: Told;
  residuals: { standardDeviationK: number; points: number; at: { depthMm: number }[] };
  warnings: { code: string; text: string }[];
  picture: { timesS: number[]; rows: { measuredC: (number | null)[]; computedC: number[] }[] };
}

const runFile = (name: string) =>
  new URL(`../fixtures/conduction/piece-${name}.csv`, import.meta.url).pathname;

const [heading = '', ...dryRows] = readFileSync(runFile('dry'), 'utf8').trim().split('\n');

/** The dry run with its rows changed; columns time_s, upper_c, lower_c, at 1.5, 4.5, 7.5 and 12 mm. */
function changed(change: (cells: string[], row: number) => string[], columns = heading): string {
  const rows = dryRows.map((line, row) => change(line.split(','), row).join(','));
  return csvFile([columns, ...rows].join('\n'));
}

const layup = (more = 'dryGlue: true', contact = 500, tolerance = '') =>
  textFile(
    'layup.yaml',
    `layers: [ { thicknessMm: 1.5, count: 9, conductivityWPerMK: 0.17, densityKgPerM3: 720, heatCapacityJPerKgK: 1700 } ]
contactWPerM2K: ${contact}
tolerance: { contactPct: 25, diffusivityPct: 8, placeK: 1.5 }${tolerance}
${more}
initialC: 20
`,
  );
const wetLayup = () => layup('evaporation: { waterKgPerM2PerLine: 0.08, share: [0.1, 0.6] }');

const words = (file: string, layupFile = layup()) => ['fit', 'piece', file, '--layup', layupFile];

async function fitted(file: string, layupFile?: string): Promise<Fit> {
  const { exit, document } = await answerOf(words(file, layupFile));
  expect(exit).toBe(0);
  return document as unknown as Fit;
}

const codes = ({ warnings }: Fit) => [...new Set(warnings.map(({ code }) => code))];

/** How many standard errors a constant is from what the run was made with. */
const away = ({ value, standardError }: Told, known: number) =>
  Math.abs(value - known) / standardError;

describe('setwell fit piece, on runs made by explicit enthalpy differences with known properties', () => {
  it('a dry piece: contact, diffusivity, offset and start within their standard errors', async () => {
    const fit = await fitted(runFile('dry'));
    // Two and a half: the chance that one of four is further off is one in twenty.
    expect(away(fit.contactWPerM2K, 430)).toBeLessThan(2.5);
    expect(away(fit.diffusivityFactor, 1.06)).toBeLessThan(2.5);
    expect(away(fit.faceOffsetK, -1.2)).toBeLessThan(2.5);
    expect(away(fit.startC, 21)).toBeLessThan(2.5);
    // And they are errors worth having.
    expect(fit.contactWPerM2K.standardError).toBeLessThan(5);
    expect(fit.diffusivityFactor.standardError).toBeLessThan(0.002);
    expect(fit.plateauShare).toBeNull();
    expect(fit.residuals).toMatchObject({ points: 964 });
    expect(Math.abs(fit.residuals.standardDeviationK - 0.15)).toBeLessThan(0.01);
    expect(codes(fit)).toEqual([]);
  });

  it('a wet piece: the share of its water as well', async () => {
    const fit = await fitted(runFile('wet'), wetLayup());
    expect(away(fit.contactWPerM2K, 610)).toBeLessThan(2.5);
    expect(away(fit.diffusivityFactor, 0.95)).toBeLessThan(2.5);
    expect(away(fit.faceOffsetK, 0.8)).toBeLessThan(2.5);
    expect(away(fit.startC, 18.5)).toBeLessThan(2.5);
    if (fit.plateauShare === null) throw new Error('no plateau');
    expect(away(fit.plateauShare, 0.4)).toBeLessThan(2.5);
    expect(fit.plateauShare.standardError).toBeLessThan(0.005);
  });

  it('is told in words, in numbers for a picture, and in a picture', async () => {
    const dir = mkdtempSync(join(tmpdir(), 'setwell-piece-'));
    try {
      const file = join(dir, 'piece.svg');
      const said = await wordsOf([...words(runFile('dry')), '--picture', file]);
      expect(said).toMatch(/contact 4\d\d\.\d W\/\(m²·K\), standard error 1\.\d/);
      expect(said).toContain('at 4.5 mm: mean');
      expect(existsSync(file)).toBe(true);
      const svg = readFileSync(file, 'utf8');
      expect(svg.match(/<polyline/g)).toHaveLength(4);
      expect(svg).toContain('4.5 mm');
      expect(svg).not.toContain('NaN');
    } finally {
      rmSync(dir, { recursive: true });
    }
    const { picture } = await fitted(runFile('dry'));
    expect(picture.rows).toHaveLength(4);
    picture.rows.forEach(({ measuredC, computedC }) => {
      expect(measuredC).toHaveLength(picture.timesS.length);
      expect(computedC).toHaveLength(picture.timesS.length);
    });
  });

  it('an empty cell says nothing, and changes no more than its share', async () => {
    const gappy = changed((cells, row) =>
      row > 0 && row % 7 === 0 ? [...cells.slice(0, 4), '', ...cells.slice(5)] : cells,
    );
    const fit = await fitted(gappy);
    expect(fit.residuals.points).toBe(964 - 34);
    expect(away(fit.diffusivityFactor, 1.06)).toBeLessThan(2.5);
  });
});

describe('setwell fit piece warns', () => {
  it('of a fit that leans on noise, with standard errors that say so', async () => {
    const normal = seededNormal(11);
    const noisy = changed((cells, row) =>
      cells.map((cell, i) => (i < 3 || row === 0 ? cell : String(Number(cell) + 5 * normal()))),
    );
    const fit = await fitted(noisy);
    expect(codes(fit)).toContain('leans-on-noise');
    expect(fit.contactWPerM2K.standardError).toBeGreaterThan(20);
  });

  it('of a run that ends before it tells offset and contact apart', async () => {
    // Two minutes, and the thermocouple in the middle alone.
    const short = csvFile(
      [heading, ...dryRows.slice(0, 24)]
        .map((line) => line.split(',').filter((_cell, i) => i < 3 || i === 5))
        .map((cells) => cells.join(','))
        .join('\n'),
    );
    const fit = await fitted(short);
    expect(codes(fit)).toContain('leans-on-noise');
  });

  it('of a piece that is not the recipe’s', async () => {
    const fit = await fitted(runFile('dry'), layup('dryGlue: true', 800));
    expect(away(fit.contactWPerM2K, 430)).toBeLessThan(2.5);
    expect(fit.warnings).toContainEqual(
      expect.objectContaining({
        code: 'piece-differs',
        text: expect.stringContaining('600 to 1000') as string,
      }),
    );
  });

  it('of faces the other way round', async () => {
    const timesS = Array.from({ length: 121 }, (_, i) => 10 * i);
    const level = (c: number) => timesS.map(() => c);
    const wood = {
      thicknessMm: 1.5,
      count: 9,
      conductivityWPerMK: 0.17,
      densityKgPerM3: 720,
      heatCapacityJPerKgK: 1700,
    };
    const { tempC } = temperatureCourse(
      [wood],
      { upperWPerM2K: 500, lowerWPerM2K: 500 },
      20,
      { timesS, upperC: level(140), lowerC: level(100) },
      [3, 10.5],
      timesS,
    );
    const file = (upper: number, lower: number) =>
      csvFile(
        [
          'time_s,upper_c,lower_c,at_3_mm_c,at_10.5_mm_c',
          ...tempC.map((row, i) => [timesS[i], upper, lower, ...row].join(',')),
        ].join('\n'),
      );
    const warned = async (path: string) =>
      ((await answerOf(words(path))).document['warnings'] as { code: string }[]).some(
        ({ code }) => code === 'faces-swapped',
      );
    expect(await warned(file(140, 100))).toBe(false);
    expect(await warned(file(100, 140))).toBe(true);
  });

  it('of a thermocouple that is not where it is said to be', async () => {
    const fit = await fitted(changed((cells) => cells, heading.replace('at_4.5_mm', 'at_6.5_mm')));
    expect(codes(fit)).toEqual(
      expect.arrayContaining(['depth-doubtful', 'residuals-hang-together']),
    );
  });
});

describe('setwell fit piece refuses', () => {
  it.each([
    [
      'no thermocouple',
      () => changed((cells) => cells.slice(0, 3), 'time_s,upper_c,lower_c'),
      'missing-column',
      undefined,
    ],
    [
      'one outside the piece',
      () => changed((cells) => cells, heading.replace('at_12.0', 'at_14.0')),
      'outside-layup',
      'at_14.0_mm_c',
    ],
    [
      'a heading nobody can place',
      () => changed((cells) => cells, heading.replace('at_12.0_mm_c', 'tc4')),
      'unknown-column',
      'tc4',
    ],
    [
      'a column in °F',
      () =>
        changed((cells) =>
          cells.map((cell, i) => (i === 3 ? String(Number(cell) * 1.8 + 232) : cell)),
        ),
      'fahrenheit',
      'at_1.5_mm_c',
    ],
    [
      'a reading that jumps by 80 K',
      () =>
        changed((cells, row) =>
          row === 60
            ? [...cells.slice(0, 4), String(Number(cells[4]) + 80), ...cells.slice(5)]
            : cells,
        ),
      'jump',
      'at_4.5_mm_c',
    ],
    [
      'a column without a reading',
      () => changed((cells) => [...cells.slice(0, 3), '', ...cells.slice(4)]),
      'empty-column',
      'at_1.5_mm_c',
    ],
    [
      'a piece that began nowhere',
      () =>
        changed((cells, row) =>
          row === 0 ? [...cells.slice(0, 3), '', ...cells.slice(4)] : cells,
        ),
      'empty-cell',
      'at_1.5_mm_c',
    ],
    [
      'a face that is missing',
      () => changed((cells, row) => (row === 5 ? ['25', '', ...cells.slice(2)] : cells)),
      'empty-cell',
      'upper_c',
    ],
  ])('%s', async (_name, file, code, field) => {
    expect(await refusalOf(words(file()))).toMatchObject({
      exit: 2,
      code,
      ...(field === undefined ? {} : { field }),
    });
  });

  it('to guess what a run cannot tell: exit 1, and no numbers', async () => {
    const level = changed((cells) => [cells[0] ?? '', '20', '20', '20', '20', '20', '20']);
    const { exit, document } = await answerOf(words(level));
    expect(exit).toBe(1);
    expect(document).toMatchObject({
      converged: false,
      contactWPerM2K: null,
      diffusivityFactor: null,
    });
  });
});
