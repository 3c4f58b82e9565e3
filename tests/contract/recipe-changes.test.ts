import { expect, it } from 'vitest';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import { recipeChanges } from '@setwell/shared-models/plant/recipe-changes';

const file = `
id: shell
kind: rack
title: Shell
part: { follows: air }
law: { form: equivalent-time, referenceC: 135, activationEnergyJPerMol: 90000, validC: [105, 150], source: F-12 }
window: { least: 6, most: 40, source: trials }
plannedMin: 24
requirements:
  - { kind: moisture, minPct: 8, maxPct: 11, coveredBy: { notMonitored: WI-02 } }
`;

function recipe(text: string) {
  const read = readRecipe(text, 'shell.yaml');
  if (!read.ok) throw new Error(JSON.stringify(read.findings));
  return read.value;
}

const changesTo = (text: string) => recipeChanges(recipe(file), recipe(text));

it('names each field that is said differently, as the file calls it', () => {
  expect(changesTo(file.replace('least: 6', 'least: 6.5'))).toEqual([
    { field: 'window.least', before: '6', after: '6.5' },
  ]);
  expect(changesTo(file.replace('[105, 150]', '[105, 145]'))).toEqual([
    { field: 'law.validC', before: '105, 150', after: '105, 145' },
  ]);
});

it('says what came and what went', () => {
  expect(changesTo(file.replace('plannedMin: 24\n', ''))).toEqual([
    { field: 'plannedMin', before: '24', after: null },
  ]);
  expect(changesTo(`${file.trimEnd()}\nlimits: [{ phase: recovery, withinMin: 5 }]\n`)).toEqual([
    { field: 'limits.recovery.phase', before: null, after: 'recovery' },
    { field: 'limits.recovery.withinMin', before: null, after: '5' },
  ]);
});

it('knows a requirement by its kind: one more before it changes nothing of it', () => {
  const more = file.replace(
    'requirements:\n',
    'requirements:\n  - { kind: pressure, minNPerMm2: 1.4, coveredBy: measured, source: F-12 }\n',
  );
  expect(changesTo(more).map(({ field }) => field)).toEqual([
    'requirements.pressure.kind',
    'requirements.pressure.minNPerMm2',
    'requirements.pressure.coveredBy',
    'requirements.pressure.source',
  ]);
});

it('says nothing of a comment or another order of the same fields', () => {
  expect(changesTo(`# As on the sheet.${file}`)).toEqual([]);
  expect(changesTo(file.replace('least: 6, most: 40', 'most: 40, least: 6'))).toEqual([]);
});

const twice = `${file.trimEnd()}
  - { kind: test, method: shear, min: 4, unit: N/mm2, coveredBy: sampled }
  - { kind: test, method: boil, min: 2, unit: N/mm2, coveredBy: sampled }
limits: [ { phase: hold, minC: 136, maxC: 140 }, { phase: hold, minC: 120, maxC: 145 } ]
`;
const changesOfTwice = (from: string, to: string) =>
  recipeChanges(recipe(twice), recipe(twice.replace(from, to)));

it('tells tests apart by their method, and limits of one phase by their place', () => {
  expect(changesOfTwice('min: 4', 'min: 9')).toEqual([
    { field: 'requirements.shear.min', before: '4', after: '9' },
  ]);
  expect(changesOfTwice('minC: 136', 'minC: 110')).toEqual([
    { field: 'limits.hold.minC', before: '136', after: '110' },
  ]);
  expect(changesOfTwice('maxC: 145', 'maxC: 150')).toEqual([
    { field: 'limits.hold-2.maxC', before: '145', after: '150' },
  ]);
});

it('swallows nothing where two tests have one method, or a method is called like the second of them', () => {
  const alike = twice.replace('method: boil', 'method: shear');
  const fieldsTo = (from: string, to: string) =>
    recipeChanges(recipe(alike), recipe(alike.replace(from, to))).map(({ field }) => field);
  expect(fieldsTo('min: 4', 'min: 9')).toEqual(['requirements.shear.min']);
  expect(fieldsTo('min: 2', 'min: 1')).toEqual(['requirements.shear-2.min']);
  const more = '  - { kind: test, method: shear-2, min: 3, unit: N/mm2, coveredBy: sampled }\n';
  const three = alike.replace('limits:', `${more}limits:`);
  const changed = recipe(three.replace('min: 2', 'min: 1'));
  expect(recipeChanges(recipe(three), changed)).toMatchObject([{ before: '2', after: '1' }]);
});
