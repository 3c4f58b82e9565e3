import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { csvFile, textFile, wordsOf } from '../fixtures/command.ts';

const catalogue = fileURLToPath(new URL('../../shared-models/cure/CATALOGUE.md', import.meta.url));
const page = readFileSync(catalogue, 'utf8');

const example =
  /### (.+?)\n[\s\S]*?```yaml\n([\s\S]*?)```[\s\S]*?```csv\n([\s\S]*?)```[\s\S]*?--map (\S+) --window (\S+?)` answers\s+```text\n([\s\S]*?)```/g;
const examples = [...page.matchAll(example)].map(
  ([, title = '', law = '', profile = '', picture = '', window = '', said = '']) =>
    [title, { law, profile, picture, window, said }] as const,
);

test('the catalogue has an example of each kind it promises', () => {
  expect(examples.map(([title]) => title)).toEqual([
    'A film glue in a press',
    'PVAc in a rack',
    'Two-part polyurethane at room temperature',
    'A stoved paint with a blocked catalyst',
  ]);
});

// A page that a reader follows: what it prints is what he gets, and so is its picture.
test.each(examples)('%s', async (_, { law, profile, picture, window, said }) => {
  const lawFile = textFile('law.yaml', law);
  const map = join(dirname(lawFile), picture);
  const words = await wordsOf([
    ...['cure', '--law', lawFile, '--profile', csvFile(profile)],
    ...['--map', map, '--window', window],
  ]);
  expect(words).toBe(said);
  expect(readFileSync(map, 'utf8')).toBe(readFileSync(join(dirname(catalogue), picture), 'utf8'));
});
