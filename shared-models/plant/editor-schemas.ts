import { z } from 'zod';
import { lawSchema } from './law-schema.ts';
import { plantSchema } from './plant-schema.ts';
import { layupSchema, recipeSchema } from './recipe-schema.ts';

/** JSON Schemas of our files by file name, for editors: what may be written, not what is read from it. */
export function editorSchemas(): Record<string, object> {
  const ours = { plant: plantSchema, recipe: recipeSchema, law: lawSchema, layup: layupSchema };
  return Object.fromEntries(
    Object.entries(ours).map(([name, schema]) => [
      `${name}.schema.json`,
      {
        title: `Setwell ${name}`,
        ...z.toJSONSchema(schema, { io: 'input', target: 'draft-7', reused: 'ref' }),
      },
    ]),
  );
}
