import { readFileSync, readdirSync } from 'node:fs';
import { editorSchemas } from '@setwell/shared-models/plant/editor-schemas';
import { expect, test } from 'vitest';

const folder = new URL('../../deploy/schemas/', import.meta.url);

test.each(Object.entries(editorSchemas()))(
  'deploy/schemas/%s is what `npm run schemas` would write',
  (name, schema) => {
    const onDisk: unknown = JSON.parse(readFileSync(new URL(name, folder), 'utf8'));
    expect(onDisk).toEqual(JSON.parse(JSON.stringify(schema)));
  },
);

test('no schema is left behind', () => {
  const onDisk = readdirSync(folder).filter((name) => name.endsWith('.json'));
  expect(onDisk.sort()).toEqual(Object.keys(editorSchemas()).sort());
});

test('an editor sees units, alternatives and keys that are none', () => {
  const text = JSON.stringify(editorSchemas()['plant.schema.json']);
  expect(text).toContain('"maxHeatingKPerMin"');
  expect(text).toContain('"additionalProperties":false');
});
