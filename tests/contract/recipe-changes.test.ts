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
