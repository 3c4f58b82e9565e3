import { readFileSync } from 'node:fs';
import { readLaw } from '@setwell/shared-models/plant/read-law';
import { readLayup } from '@setwell/shared-models/plant/read-layup';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import { recipeSchema } from '@setwell/shared-models/plant/recipe-schema';
import { expect, test } from 'vitest';

const good = readFileSync(new URL('../fixtures/plant/press-recipe.yaml', import.meta.url), 'utf8');

function changed(from: string, to: string): string {
  expect(good).toContain(from);
  return good.replace(from, to);
}

function findings(text: string) {
  return readRecipe(text, 'recipe.yaml').findings;
}

const oven = `
id: top-coat-1
kind: oven
title: Top coat 1
law: { form: equivalent-time, referenceC: 60, activationEnergyJPerMol: 70000, validC: [40, 75], source: invented }
coat: 1
window: { step: { least: 10, most: 50, source: invented }, total: { least: 0, most: 420, source: invented } }
flashOffMin: { least: 10, most: 20 }
recoatH: { least: 2, most: 16 }
part: { follows: air }
`;

const store = `
id: top-rest
kind: store
title: Rest
law: { form: equivalent-time, referenceC: 20, activationEnergyJPerMol: 60000, validC: [15, 28], source: invented }
window: { rest: { calendarLeastD: 14, equivalentLeastD: 13, source: invented } }
part: { timeConstantMin: 30 }
`;

test('a recipe is read, and reading what was read changes nothing', () => {
  const read = readRecipe(good, 'recipe.yaml');
  if (!read.ok) throw new Error(JSON.stringify(read.findings));
  expect(read.findings).toEqual([]);
  expect(read.value).toMatchObject({ id: 'shell-13ply', window: { least: 6, most: 40 } });
  expect(recipeSchema.parse(JSON.parse(JSON.stringify(read.value)))).toEqual(read.value);
});

test('a recipe in JSON is the same recipe', () => {
  const yaml = readRecipe(good, 'recipe.yaml');
  if (!yaml.ok) throw new Error(JSON.stringify(yaml.findings));
  expect(readRecipe(JSON.stringify(yaml.value, null, 2), 'recipe.json')).toEqual(yaml);
});

test.each([
  ['oven', oven],
  ['store', store],
])('an %s recipe is read', (_kind, text) => {
  expect(readRecipe(text, 'recipe.yaml')).toMatchObject({ ok: true, findings: [] });
});

test('most: none leaves the window open upwards, and the reason stays', () => {
  const read = readRecipe(
    changed('most: 40, noReturn: 2', 'most: none, mostNone: cannot over-cure'),
    'recipe.yaml',
  );
  if (!read.ok || read.value.kind !== 'press') throw new Error(JSON.stringify(read.findings));
  expect('most' in read.value.window).toBe(false);
  expect(read.value.window.mostNone).toBe('cannot over-cure');
});

type Bad = [
  name: string,
  text: string,
  finding: {
    code: string;
    line: number;
    field: string;
    found?: string;
    expected?: string;
    nearest?: string;
  },
];

const bad: Bad[] = [
  [
    'a decimal comma within braces, which YAML reads as another key',
    changed('thicknessMm: 1.5', 'thicknessMm: 1,5'),
    { code: 'unknown-key', line: 18, field: 'layup.layers[0].5' },
  ],
  [
    'a law that is none',
    changed('form: equivalent-time', 'form: equivalent_time'),
    {
      code: 'not-one-of',
      line: 5,
      field: 'law.form',
      found: '"equivalent_time"',
      nearest: 'equivalent-time',
    },
  ],
  [
    'an activation energy in kJ',
    changed('activationEnergyJPerMol: 90000', 'activationEnergyKJPerMol: 90'),
    {
      code: 'unknown-key',
      line: 7,
      field: 'law.activationEnergyKJPerMol',
      nearest: 'activationEnergyJPerMol',
    },
  ],
  [
    'an activation energy below zero',
    changed('activationEnergyJPerMol: 90000', 'activationEnergyJPerMol: -90000'),
    { code: 'out-of-range', line: 7, field: 'law.activationEnergyJPerMol', found: '-90000' },
  ],
  [
    'a law without a source',
    changed('  source: data sheet F-12 rev 3, fitted\n', ''),
    { code: 'no-source', line: 4, field: 'law.source' },
  ],
  [
    'a window without a source',
    changed(', source: press trials 2026-02', ''),
    { code: 'no-source', line: 10, field: 'window.source' },
  ],
  [
    'a window without an end',
    changed('most: 40, ', ''),
    { code: 'missing-key', line: 10, field: 'window.most' },
  ],
  [
    'a window without an end and without a reason',
    changed('most: 40, ', 'most: none, '),
    { code: 'missing-key', line: 10, field: 'window.most' },
  ],
  [
    'a least over the most',
    changed('least: 6', 'least: 60'),
    { code: 'contradiction', line: 10, field: 'window.most', found: 'least 60 and most 40' },
  ],
  [
    'no return beyond the least',
    changed('noReturn: 2', 'noReturn: 7'),
    { code: 'contradiction', line: 10, field: 'window.noReturn', found: '7' },
  ],
  [
    'neither lay-up nor places',
    good.replace(/layup:[\s\S]*?(?=requirements:)/, ''),
    { code: 'missing-key', line: 1, field: '' },
  ],
  [
    'liquid glue without a word on its water',
    changed('  dryGlue: true\n', ''),
    { code: 'missing-key', line: 16, field: 'layup.evaporation' },
  ],
  [
    'no contact',
    changed('  contactWPerM2K: 500\n', ''),
    { code: 'missing-key', line: 16, field: 'layup.contactWPerM2K' },
  ],
  [
    'a material nothing is known of',
    changed('material: beech', 'material: beach'),
    {
      code: 'unknown-material',
      line: 18,
      field: 'layup.layers[0].material',
      found: '"beach"',
      nearest: 'beech',
    },
  ],
  [
    'a material that is only a word of the language underneath',
    changed('material: beech', 'material: constructor'),
    { code: 'unknown-material', line: 18, field: 'layup.layers[0].material' },
  ],
  [
    'a thickness of nothing',
    changed('thicknessMm: 1.5', 'thicknessMm: 0'),
    { code: 'out-of-range', line: 18, field: 'layup.layers[0].thicknessMm', found: '0' },
  ],
  ...(
    [
      ['a conductivity in mW', [170, 720, 1700], 'conductivityWPerMK', '0.17'],
      ['a conductivity in kW', [0.00017, 720, 1700], 'conductivityWPerMK', '0.17'],
      ['a density in g/cm³', [0.17, 0.72, 1700], 'densityKgPerM3', '720'],
      ['a heat capacity in kJ', [0.17, 720, 1.7], 'heatCapacityJPerKgK', '1700'],
    ] as const
  ).map(([name, [k, density, heat], key, meant]): Bad => [
    name,
    changed(
      'material: beech, thicknessMm: 1.5, moisturePct: 8',
      `thicknessMm: 1.5, conductivityWPerMK: ${k}, densityKgPerM3: ${density}, heatCapacityJPerKgK: ${heat}`,
    ),
    {
      code: 'wrong-unit',
      line: 18,
      field: `layup.layers[0].${key}`,
      expected: expect.stringContaining(`is it ${meant}, written in`) as string,
    },
  ]),
  [
    'half a material',
    changed(
      'material: beech, thicknessMm: 1.5, moisturePct: 8',
      'thicknessMm: 1.5, conductivityWPerMK: 0.17, densityKgPerM3: 720',
    ),
    { code: 'missing-key', line: 18, field: 'layup.layers[0].heatCapacityJPerKgK' },
  ],
  [
    'a start from warm to cold',
    changed('initialC: 20', 'initialC: { least: 25, most: 15 }'),
    { code: 'contradiction', line: 22, field: 'layup.initialC' },
  ],
  [
    'a pressure upside down',
    changed('maxNPerMm2: 1.76', 'maxNPerMm2: 0.9'),
    { code: 'contradiction', line: 24, field: 'requirements[0].maxNPerMm2' },
  ],
  [
    'a bound that this requirement does not have',
    changed('openMaxMin: 10', 'openMaxS: 600'),
    { code: 'unknown-key', line: 25, field: 'requirements[1].openMaxS', nearest: 'openMaxMin' },
  ],
  [
    'nobody knows how it is known',
    changed('coveredBy: measured', 'coveredBy: maesured'),
    { code: 'not-one-of', line: 24, field: 'requirements[0].coveredBy' },
  ],
  [
    'a law whose rate falls with temperature',
    good.replace(
      / {2}form: equivalent-time\n.*\n.*\n/,
      '  form: autocatalytic\n  k2: { aPerS: 1.0e5, activationEnergyJPerMol: 60000 }\n  k1: { aPerS: -1.0e9, activationEnergyJPerMol: 90000 }\n  m: 1\n  n: 1\n',
    ),
    { code: 'falling-rate', line: 4, field: 'law' },
  ],
  [
    'light at a press',
    good.replace(/ {2}form: equivalent-time\n.*\n.*\n/, '  form: dose\n'),
    { code: 'contradiction', line: 5, field: 'law.form' },
  ],
  [
    'a rest without equivalent days',
    store.replace(/law:.*\n/, 'law: { form: degree-time, baseC: 0, source: invented }\n'),
    { code: 'contradiction', line: 5, field: 'law' },
  ],
  [
    'an oven window without its step',
    oven.replace('step: ', 'stop: '),
    { code: 'missing-key', line: 7, field: 'window.step' },
  ],
  [
    'a flash-off upside down',
    oven.replace('least: 10, most: 20', 'least: 20, most: 10'),
    { code: 'contradiction', line: 8, field: 'flashOffMin' },
  ],
  [
    'a recipe for no kind of station',
    changed('kind: press', 'kind: kiln'),
    { code: 'not-one-of', line: 2, field: 'kind', found: '"kiln"' },
  ],
];

test.each(bad)('refused: %s', (_name, text, finding) => {
  expect(readRecipe(text, 'recipe.yaml').ok).toBe(false);
  expect(findings(text)).toEqual(
    expect.arrayContaining([expect.objectContaining({ ...finding, severity: 'error' })]),
  );
});

const doubtful: Bad[] = [
  [
    'a reference outside the hold',
    changed('referenceC: 135', 'referenceC: 20'),
    { code: 'reference-outside', line: 6, field: 'law.referenceC' },
  ],
  [
    'temperatures that look like °F',
    changed('referenceC: 135', 'referenceC: 275'),
    { code: 'fahrenheit', line: 6, field: 'law.referenceC', found: '275' },
  ],
  [
    'a bound from nowhere',
    changed(', source: data sheet F-12 }', ' }'),
    { code: 'no-source', line: 24, field: 'requirements[0].source' },
  ],
];

test.each(doubtful)('warned of, and taken: %s', (_name, text, finding) => {
  expect(readRecipe(text, 'recipe.yaml').ok).toBe(true);
  expect(findings(text)).toEqual(
    expect.arrayContaining([expect.objectContaining({ ...finding, severity: 'warning' })]),
  );
});

// Computed by hand: 6 min · (e^(ΔE/R · (1/293.15 K − 1/413.15 K)) − 1), ΔE 5 % of 90 kJ/mol, then twice 1 kJ/mol.
test.each([
  ['', 'a usual doubt of 5 % of the activation energy costs up to 4.3 min of 6 min'],
  [
    '  standardErrors: { activationEnergyJPerMol: 1000 }\n',
    'the stated doubt (k = 2) of the activation energy costs up to 1.6 min of 6 min',
  ],
  [
    '  covariance: { names: [activationEnergyJPerMol], matrix: [[1.0e+6]] }\n',
    'the stated doubt (k = 2) of the activation energy costs up to 1.6 min of 6 min',
  ],
])('a reference outside the hold is told with what it costs %#', (errors, told) => {
  const text = changed('referenceC: 135', 'referenceC: 20').replace('window:', `${errors}window:`);
  const finding = findings(text).find(({ code }) => code === 'reference-outside');
  expect(finding?.expected).toBe(`a reference within the hold, 135 to 140 °C: from there ${told}`);
});

test('a factor and an energy that err each alone are warned of', () => {
  const text = changed(
    '  form: equivalent-time\n  referenceC: 135\n  activationEnergyJPerMol: 90000\n',
    '  form: n-th-order\n  aPerS: 1.0e+8\n  activationEnergyJPerMol: 90000\n  n: 1\n  standardErrors: { aPerS: 1.0e+7, activationEnergyJPerMol: 900 }\n',
  );
  const told = (each: string) => findings(each).map(({ code }) => code);
  expect(findings(text)).toEqual(
    expect.arrayContaining([
      expect.objectContaining({
        code: 'no-covariance',
        severity: 'warning',
        line: 9,
        field: 'law.standardErrors.aPerS',
      }),
    ]),
  );
  const together = text.replace(
    'window:',
    '  covariance: { names: [aPerS, activationEnergyJPerMol], matrix: [[1.0e+14, 8.0e+9], [8.0e+9, 810000]] }\nwindow:',
  );
  expect(together).not.toBe(text);
  expect(told(together)).not.toContain('no-covariance');
  expect(told(together)).not.toContain('contradiction');
});

test('a covariance that is none is refused where it stands', () => {
  const text = changed(
    'window:',
    '  covariance: { names: [activationEnergyJPerMol, lnReferenceMin], matrix: [[1.0e+6, 1], [2, 0.01]] }\nwindow:',
  );
  expect(findings(text)).toEqual(
    expect.arrayContaining([
      expect.objectContaining({
        severity: 'error',
        field: 'law.covariance.matrix[1][0]',
        line: 10,
      }),
    ]),
  );
});

test('a law file may hold a law that no recipe may: it is for computing', () => {
  const law =
    'form: autocatalytic\nk1: { aPerS: -0.001, activationEnergyJPerMol: 1000 }\nk2: { aPerS: 1, activationEnergyJPerMol: 60000 }\nm: 1\nn: 1\n';
  expect(readLaw(law, 'law.yaml')).toMatchObject({ ok: true });
});

test('a switched law says when it switches', () => {
  const stage = 'form: n-th-order, aPerS: 1, activationEnergyJPerMol: 60000, n: 1';
  const law = (first: string, last: string) =>
    `switch:\n  - { ${stage}${first} }\n  - { ${stage}${last} }\n`;
  expect(readLaw(law(', untilAlpha: 0.3', ''), 'law.yaml')).toMatchObject({ ok: true });
  expect(readLaw(law('', ''), 'law.yaml').findings[0]).toMatchObject({
    line: 2,
    field: 'switch[0]',
  });
  expect(
    readLaw(law(', untilAlpha: 0.3', ', untilAlpha: 0.5'), 'law.yaml').findings[0],
  ).toMatchObject({
    line: 3,
    field: 'switch[1]',
  });
});

test('a lay-up file needs faces or a contact, and a start temperature that is a number', () => {
  const layers =
    'layers: [{ thicknessMm: 100, conductivityWPerMK: 35, densityKgPerM3: 7200, heatCapacityJPerKgK: 440.5 }]\n';
  expect(
    readLayup(
      `${layers}initialC: 0\nfaces: { upper: { fixed: true }, lower: { fixed: true } }\n`,
      'l.yaml',
    ),
  ).toMatchObject({ ok: true });
  expect(readLayup(`${layers}initialC: 0\n`, 'l.yaml').findings[0]).toMatchObject({
    code: 'missing-key',
    line: 1,
    field: 'contactWPerM2K',
  });
  expect(
    readLayup(`${layers}contactWPerM2K: 500\ninitialC: { least: 5, most: 20 }\n`, 'l.yaml')
      .findings[0],
  ).toMatchObject({ line: 3, field: 'initialC', expected: 'a number' });
});
