import type { Read } from '@setwell/shared-models/plant/finding';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import type { Parsers } from './documents.ts';

/** Documents of the ledger were read without a finding before they were recorded. */
export const parsers: Parsers = {
  plant: (text) => valueOf(readPlant(text, 'plant.yaml')),
  recipe: (text) => valueOf(readRecipe(text, 'recipe.yaml')),
};

function valueOf<T>(read: Read<T>): T {
  if (read.ok) return read.value;
  const [first] = read.findings;
  throw new Error(
    first
      ? `${first.file} line ${String(first.line)}: found ${first.found}, expected ${first.expected}`
      : 'a recorded document does not parse',
  );
}
