import { readPlant } from '@setwell/shared-models/plant/read-plant';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import { describe, expect, it } from 'vitest';
import { answerOf, csvFile, textFile } from '../fixtures/command.ts';
import { platenC } from '../fixtures/press-load.ts';

const sensor = (id: string, more = '') =>
  `  - { id: ${id}, topic: plant/p/${id}, signal: celsius, plausible: { minC: 0, maxC: 220, maxRateKPerMin: 600 }${more} }\n`;

const limits = 'maxHeatingKPerMin: 12, maxCoolingKPerMin: 6, supplyMaxC: 150, surroundingsMinC: 10';

const plantText = (
  station: string,
  sensors: string,
) => `site: { id: works, timeZone: Europe/Copenhagen }
broker: { builtIn: true, port: 1883 }
stations:
  - { ${station}, ${limits} }
sensors:
${sensors}`;

const press = 'id: press-1, kind: press, zones: [ { id: left, upper: ul, lower: ll } ]';

const recipeText = (layers: string, initialC = '20') => `id: shell
kind: press
title: Shell
law: { form: equivalent-time, referenceC: 135, activationEnergyJPerMol: 90000, validC: [105, 150], source: invented }
window: { least: 6, most: 40, source: invented }
layup: { layers: [ ${layers} ], contactWPerM2K: 500, dryGlue: true, initialC: ${initialC} }
`;

const wood =
  '{ thicknessMm: 1.5, conductivityWPerMK: 0.17, densityKgPerM3: 720, heatCapacityJPerKgK: 1700, count: 13 }';

function toldOf(text: string, read: typeof readPlant | typeof readRecipe) {
  const answer = read(text, 'file.yaml');
  return answer.ok ? [] : answer.findings.map(({ code, field }) => ({ code, field }));
}

async function nominalOf(station: string, depth: string): Promise<number> {
  const plant = textFile(
    'plant.yaml',
    plantText(station, sensor('ul', depth) + sensor('ll', depth)),
  );
  const rows = Array.from({ length: 1441 }, (_, s) => `${s},${platenC(s)},${platenC(s)}`);
  const { document } = await answerOf([
    ...['score', '--recipe', textFile('recipe.yaml', recipeText(wood))],
    ...['--readings', csvFile(['time_s,ul,ll', ...rows].join('\n'))],
    ...['--plant', plant, '--station', 'press-1'],
  ]);
  return (document['places'] as { nominal: number }[])[5]?.nominal ?? NaN;
}

describe('a point’s depth in plant.yaml', () => {
  it('puts the metal of the platen before the face, steel unless the station says otherwise', async () => {
    const atFace = await nominalOf(press, '');
    const steel = await nominalOf(press, ', depthMm: 25');
    const copper = await nominalOf(`${press}, platenMetal: copper`, ', depthMm: 25');
    const own = await nominalOf(
      `${press}, platenMetal: { conductivityWPerMK: 50, densityKgPerM3: 7800, heatCapacityJPerKgK: 450 }`,
      ', depthMm: 25',
    );
    expect(steel).toBeLessThan(atFace - 0.3);
    expect(copper).toBeGreaterThan(steel);
    expect(copper).toBeLessThan(atFace);
    expect(own).toBe(steel);
  });

  it('is refused where a face is air, and platens where there are none', () => {
    const rack = 'id: rack-1, kind: rack, zones: [ { id: bay, air: ra } ]';
    expect(toldOf(plantText(rack, sensor('ra', ', depthMm: 25')), readPlant)).toEqual([
      { code: 'contradiction', field: 'stations[0].zones[0].air' },
    ]);
    expect(toldOf(plantText(`${rack}, platenMetal: steel`, sensor('ra')), readPlant)).toEqual([
      { code: 'contradiction', field: 'stations[0].platenMetal' },
    ]);
    expect(
      toldOf(plantText(`${press}, platenMetal: stel`, sensor('ul') + sensor('ll')), readPlant),
    ).toHaveLength(1);
  });
});

describe('contacts between layers', () => {
  const caul = '{ material: aluminium, thicknessMm: 2 }';
  const contact = '{ contactWPerM2K: 300 }';

  it('stand between two layers', () => {
    expect(toldOf(recipeText(`${caul}, ${contact}, ${wood}`), readRecipe)).toEqual([]);
  });

  it.each([
    ['at a face', `${contact}, ${wood}`, 'layup.layers[0]'],
    ['at the other face', `${wood}, ${contact}`, 'layup.layers[1]'],
    ['twice', `${caul}, ${contact}, ${contact}, ${wood}`, 'layup.layers[1]'],
  ])('%s they are refused', (_where, layers, field) => {
    expect(toldOf(recipeText(layers), readRecipe)).toContainEqual({ code: 'contradiction', field });
  });
});
