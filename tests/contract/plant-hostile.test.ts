import { readFileSync } from 'node:fs';
import { parseNumberTable } from '@setwell/collector/cli/number-table';
import { CommandProblem } from '@setwell/collector/cli/problem';
import type { Read } from '@setwell/shared-models/plant/finding';
import { readLaw } from '@setwell/shared-models/plant/read-law';
import { readLayup } from '@setwell/shared-models/plant/read-layup';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import fc from 'fast-check';
import { expect, test } from 'vitest';

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

function check(read: Read<unknown>, text: string): void {
  if (!read.ok) expect(read.findings.some(({ severity }) => severity === 'error')).toBe(true);
  const lines = text.split(/\r\n|\r|\n/).length;
  for (const { line, column, found, expected } of read.findings) {
    expect(line).toBeGreaterThanOrEqual(1);
    expect(line).toBeLessThanOrEqual(lines);
    expect(column).toBeGreaterThanOrEqual(1);
    expect(found).not.toBe('');
    expect(expected).not.toBe('');
    expect(found.length).toBeLessThan(300);
  }
}

test.each(Object.entries(readers))(
  '%s answers to any text, and each fault has its place',
  (_name, read) => {
    fc.assert(
      fc.property(fc.oneof(bytes, yamlish, damaged, json), (text) => {
        check(read(text, 'file.yaml'), text);
      }),
      { numRuns: 400, seed: 20260302 },
    );
  },
);

test.each(['[', '{a: ', '- ', '? ', '"', '&a ', '!!', '|\n ', "{'", '*a '])(
  'twenty thousand of %j end soon and are refused',
  (piece) => {
    const text = piece.repeat(20_000);
    const read = readRecipe(text, 'file.yaml');
    expect(read.ok).toBe(false);
    check(read, text);
  },
);

test('a CSV of any text is a table, or is refused with its line', () => {
  const cell = fc.oneof(
    fc.constantFrom('time_s', 'temp_c', '0', '1', '2.5', 'NaN', '1e999', '', '12,4', '"', '275 F'),
    fc.string({ maxLength: 8 }),
  );
  const text = fc
    .array(
      fc.array(cell, { maxLength: 4 }).map((row) => row.join(',')),
      { maxLength: 6 },
    )
    .map((rows) => rows.join('\n'));
  const headed = text.map((rows) => `time_s,temp_c\n${rows}`);
  fc.assert(
    fc.property(fc.oneof(text, headed, bytes), (csv) => {
      try {
        const table = parseNumberTable(csv, 'p.csv', {
          what: 'a profile',
          columns: [{ name: 'time_s', order: 'rising' }, { name: 'temp_c' }],
        });
        const times = table.full('time_s');
        expect(times.length).toBeGreaterThanOrEqual(2);
        expect([...times].sort((a, b) => a - b)).toEqual(times);
        expect(table.full('temp_c').every(Number.isFinite)).toBe(true);
      } catch (error) {
        if (!(error instanceof CommandProblem)) throw error;
        expect(error.file).toBe('p.csv');
        expect(error.line).toBeGreaterThanOrEqual(1);
        expect(error.exit).toBe(2);
      }
    }),
    { numRuns: 1000, seed: 20260302 },
  );
});
