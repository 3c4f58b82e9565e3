import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { parseNumberTable } from '@setwell/collector/number-table';
import { CommandProblem } from '@setwell/collector/problem';
import type { Read } from '@setwell/shared-models/plant/finding';
import { readLaw } from '@setwell/shared-models/plant/read-law';
import { readLayup } from '@setwell/shared-models/plant/read-layup';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import fc from 'fast-check';

const readers: Record<string, (text: string, file: string) => Read<unknown>> = {
  readPlant,
  readRecipe,
  readLaw,
  readLayup,
};

const good = ['plant.yaml', 'press-recipe.yaml'].map((name) =>
  readFileSync(new URL(`../fixtures/plant/${name}`, import.meta.url), 'utf8'),
);

/** Bytes as they may come from a disk or a browser, read as text the way a file is. */
const bytes = fc.uint8Array({ maxLength: 400 }).map((all) => new TextDecoder('utf-8').decode(all));

/** Text out of the pieces that YAML gives a meaning to. */
const yamlish = fc
  .array(
    fc.oneof(
      fc.constantFrom(
        ...[
          ': ',
          '- ',
          '[',
          ']',
          '{',
          '}',
          ',',
          '\n',
          '  ',
          '\t',
          '"',
          "'",
          '&a ',
          '*a',
          '|\n',
          '>-\n',
        ],
        ...[
          '? ',
          '!!set ',
          '!x ',
          '#',
          '%YAML 1.1\n',
          '---\n',
          '...\n',
          '<<: ',
          '.nan',
          '.inf',
          '0x1F',
        ],
        ...[
          '__proto__',
          'constructor',
          'site',
          'stations',
          'law',
          'form',
          'window',
          'layers',
          '\uFEFF',
        ],
      ),
      fc.string({ maxLength: 6 }),
    ),
    { maxLength: 60 },
  )
  .map((parts) => parts.join(''));

/** A good file with a piece taken out and something else put there. */
const damaged = fc
  .tuple(fc.constantFrom(...good), fc.nat(), fc.nat(40), fc.oneof(yamlish, bytes))
  .map(([text, at, length, piece]) => {
    const from = at % text.length;
    return text.slice(0, from) + piece.slice(0, 40) + text.slice(from + length);
  });

const json = fc.jsonValue({ maxDepth: 6 }).map((value) => JSON.stringify(value));

/** A refusal has an error, and every finding a place within the text and something to say. */
export function checkFindings(read: Read<unknown>, text: string): void {
  if (!read.ok) assert(read.findings.some(({ severity }) => severity === 'error'));
  const lines = text.split(/\r\n|\r|\n/).length;
  for (const { line, column, found, expected } of read.findings) {
    assert(line >= 1 && line <= lines, `line ${line} of ${lines}`);
    assert(column >= 1, `column ${column}`);
    assert.notEqual(found, '');
    assert.notEqual(expected, '');
    assert(found.length < 300, `found ${found.length} characters`);
  }
}

const cell = fc.oneof(
  fc.constantFrom('time_s', 'temp_c', '0', '1', '2.5', 'NaN', '1e999', '', '12,4', '"', '275 F'),
  fc.string({ maxLength: 8 }),
);
const rows = fc
  .array(
    fc.array(cell, { maxLength: 4 }).map((row) => row.join(',')),
    { maxLength: 6 },
  )
  .map((lines) => lines.join('\n'));
const headed = rows.map((csv) => `time_s,temp_c\n${csv}`);

/** Every reader and the CSV reader on texts drawn from a seed. */
export function readHostileText(seed: number): void {
  for (const read of Object.values(readers)) {
    fc.assert(
      fc.property(fc.oneof(bytes, yamlish, damaged, json), (text) => {
        checkFindings(read(text, 'file.yaml'), text);
      }),
      { numRuns: 10, seed },
    );
  }
  fc.assert(fc.property(fc.oneof(rows, headed, bytes), checkTable), { numRuns: 40, seed });
}

/** Any text is a table, or refused with its line. */
function checkTable(csv: string): void {
  try {
    const table = parseNumberTable(csv, 'p.csv', {
      what: 'a profile',
      columns: [{ name: 'time_s', order: 'rising' }, { name: 'temp_c' }],
    });
    const times = table.full('time_s');
    assert(times.length >= 2);
    assert.deepEqual(
      [...times].sort((a, b) => a - b),
      times,
    );
    assert(table.full('temp_c').every(Number.isFinite));
  } catch (error) {
    if (!(error instanceof CommandProblem)) throw error;
    assert.equal(error.file, 'p.csv');
    assert((error.line ?? 0) >= 1, error.message);
    assert.equal(error.exit, 2);
  }
}
