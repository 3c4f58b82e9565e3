import { writeFileSync } from 'node:fs';
import { editorSchemas } from '@setwell/shared-models/plant/editor-schemas';

/** Writes `deploy/schemas/` anew: `npm run schemas`, after a change of `shared-models/plant`. */
for (const [name, schema] of Object.entries(editorSchemas())) {
  const file = new URL(`schemas/${name}`, import.meta.url);
  writeFileSync(file, `${JSON.stringify(schema, null, 2)}\n`);
}
