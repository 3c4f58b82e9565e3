import type { Read } from './finding.ts';
import { readYaml } from './located-yaml.ts';
import { tellRecipe } from './recipe-findings.ts';
import { type Recipe, recipeSchema } from './recipe-schema.ts';
import { readShape } from './schema-findings.ts';
import { tellingInto } from './tell.ts';

/** A recipe of 16 places and 40 requirements is 20 kB. */
const mostLength = 1024 * 1024;

/**
 * `recipe.yaml`, or every place where it is not one.
 *
 * @param file its name, for the findings
 */
export function readRecipe(text: string, file: string): Read<Recipe> {
  const yaml = readYaml(text, file, mostLength);
  if (!yaml.ok) return yaml;
  const shape = readShape(yaml.value, recipeSchema);
  if (!shape.ok) return shape;
  return tellingInto(yaml.value, shape.value, (tell) => tellRecipe(shape.value, tell));
}
