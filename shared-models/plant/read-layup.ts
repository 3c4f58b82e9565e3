import { knownMaterials, materialOf } from '../heat/materials.ts';
import { knownWoods } from '../heat/wood.ts';
import type { Read } from './finding.ts';
import { type Path, readYaml } from './located-yaml.ts';
import { nearestName } from './nearest-name.ts';
import { type Layer, type Layup, layupSchema, type SolidLayer } from './recipe-schema.ts';
import { readShape } from './schema-findings.ts';
import { type Tell, tellingInto } from './tell.ts';

/** A hundred layers of 300 characters, and comments. */
const mostLength = 256 * 1024;
/** Counting `count`; a finer lay-up is a material of its own. */
const mostLayers = 400;

/** A lay-up file of `setwell heat`: the value of a recipe's `layup:`, its start temperature a number. */
export function readLayup(text: string, file: string): Read<Layup> {
  const yaml = readYaml(text, file, mostLength);
  if (!yaml.ok) return yaml;
  const shape = readShape(yaml.value, layupSchema);
  if (!shape.ok) return shape;
  const layup = shape.value;
  return tellingInto(yaml.value, layup, (tell) => {
    tellLayup(layup, [], tell);
    if (typeof layup.initialC !== 'number') {
      tell(['initialC'], { code: 'wrong-type', found: 'a range or a point', expected: 'a number' });
    }
    if (layup.contactWPerM2K === undefined && !(layup.faces?.upper && layup.faces.lower)) {
      tell(['contactWPerM2K'], {
        code: 'missing-key',
        found: 'nothing',
        expected: 'contactWPerM2K, or faces with upper and lower',
      });
    }
  });
}

/** A press recipe's lay-up: it must also say where the glue's water goes. */
export function tellRecipeLayup(layup: Layup, path: Path, tell: Tell): void {
  tellLayup(layup, path, tell);
  if (layup.faces !== undefined) {
    tell([...path, 'faces'], {
      code: 'unknown-key',
      found: 'faces in a recipe',
      expected: "contactWPerM2K; the station's own points are the faces",
    });
  }
  if (layup.contactWPerM2K === undefined) {
    tell([...path, 'contactWPerM2K'], {
      code: 'missing-key',
      found: 'nothing',
      expected: 'a number',
    });
  }
  if (layerCount(layup.layers) > 1 && layup.dryGlue !== true && layup.evaporation === undefined) {
    tell([...path, 'evaporation'], {
      code: 'missing-key',
      found: 'neither dryGlue: true nor evaporation',
      expected: 'evaporation: { waterKgPerM2PerLine, share } for liquid glue, or dryGlue: true',
    });
  }
}

function tellLayup(layup: Layup, path: Path, tell: Tell): void {
  const { layers, dryGlue, evaporation, initialC } = layup;
  tellLayers(layers, [...path, 'layers'], tell);
  tellStart(initialC, [...path, 'initialC'], tell);
  if (dryGlue === true && evaporation !== undefined) {
    tell([...path, 'evaporation'], {
      code: 'contradiction',
      found: 'dryGlue: true and evaporation',
      expected: 'one of them',
    });
  }
  if (evaporation !== undefined && evaporation.share[0] > evaporation.share[1]) {
    tell([...path, 'evaporation', 'share'], {
      code: 'contradiction',
      found: `${evaporation.share[0]} to ${evaporation.share[1]}`,
      expected: 'the least share before the greatest',
    });
  }
}

export function tellLayers(layers: Layer[], path: Path, tell: Tell): void {
  const count = layerCount(layers);
  if (count > mostLayers) {
    tell(path, { code: 'too-many', found: `${count} layers`, expected: `at most ${mostLayers}` });
  }
  layers.forEach((layer, index) => {
    if ('contactWPerM2K' in layer) {
      const between = [layers[index - 1], layers[index + 1]];
      if (between.every((each) => each !== undefined && !('contactWPerM2K' in each))) return;
      tell([...path, index], {
        code: 'contradiction',
        found: index === 0 || index === layers.length - 1 ? 'a contact at a face' : 'two contacts',
        expected: "a contact between two layers; the lay-up's own is that of its faces",
      });
      return;
    }
    if (!('material' in layer)) tellUnits(layer, [...path, index], tell);
    if (!('material' in layer) || materialOf(layer) !== null) return;
    const names = [...knownWoods, ...knownMaterials];
    tell([...path, index, 'material'], {
      code: 'unknown-material',
      found: JSON.stringify(layer.material),
      expected: `one of ${names.join(', ')}, or densityKgPerM3 beside a wood of another name`,
      nearest: nearestName(layer.material, names),
    });
  });
}

/**
 * Properties that no solid has, and what they are in the unit they were probably written in. Still air
 * conducts 0.026 W/(m·K); of what is lighter than 1500 kg/m³ nothing in a press conducts as metals do; no
 * metal's heat capacity is below 100 J/(kg·K). From memory of handbook tables.
 */
function tellUnits(
  layer: Extract<SolidLayer, { conductivityWPerMK: number }>,
  path: Path,
  tell: Tell,
): void {
  const { conductivityWPerMK: k, densityKgPerM3: density, heatCapacityJPerKgK: heat } = layer;
  const refuse = (key: string, found: string, expected: string) =>
    tell([...path, key], { code: 'wrong-unit', found, expected });
  if (density < 10) {
    refuse('densityKgPerM3', `${density}`, `kg/m³: is it ${1000 * density}, written in g/cm³?`);
  } else if (k > 20 && density < 1500) {
    const found = `${k} of a layer of ${density} kg/m³`;
    refuse('conductivityWPerMK', found, `W/(m·K): is it ${k / 1000}, written in mW/(m·K)?`);
  }
  if (k < 0.01) {
    refuse('conductivityWPerMK', `${k}`, `W/(m·K): is it ${1000 * k}, written in kW/(m·K)?`);
  }
  if (heat < 50) {
    refuse(
      'heatCapacityJPerKgK',
      `${heat}`,
      `J/(kg·K): is it ${1000 * heat}, written in kJ/(kg·K)?`,
    );
  }
}

/** A start temperature given as a range must be one. */
export function tellStart(start: Layup['initialC'] | undefined, path: Path, tell: Tell): void {
  if (typeof start !== 'object' || !('least' in start) || start.least <= start.most) return;
  tell(path, {
    code: 'contradiction',
    found: `${start.least} to ${start.most}`,
    expected: 'a least up to the greatest',
  });
}

function layerCount(layers: Layer[]): number {
  return layers.reduce((sum, layer) => sum + ('count' in layer ? layer.count : 0), 0);
}
