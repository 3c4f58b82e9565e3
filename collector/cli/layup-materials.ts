import { knownMaterials, materialOf } from '@setwell/shared-models/heat/materials';
import { knownWoods } from '@setwell/shared-models/heat/wood';
import { nearestName } from '@setwell/shared-models/plant/nearest-name';
import type { Layer } from '@setwell/shared-models/plant/recipe-schema';
import { CommandProblem } from './problem.ts';

/**
 * Refuses a lay-up with a material nothing is known of.
 *
 * @param field where the layers stand in the file
 */
export function refuseUnknownMaterials(
  layers: readonly Layer[],
  file: string,
  field: string,
): void {
  layers.forEach((layer, index) => {
    if (materialOf(layer) !== null) return;
    const found = 'material' in layer ? layer.material : '';
    const names = [...knownWoods, ...knownMaterials];
    const nearest = nearestName(found, names);
    throw new CommandProblem({
      code: 'unknown-material',
      file,
      field: `${field}[${index}].material`,
      found: JSON.stringify(found),
      expected: `${nearest === null ? '' : `${nearest}; `}one of ${names.join(', ')}, or densityKgPerM3 beside it`,
    });
  });
}

export function thicknessMm(layers: readonly Layer[]): number {
  let sum = 0;
  for (const layer of layers) for (let i = 0; i < layer.count; i += 1) sum += layer.thicknessMm;
  return sum;
}
