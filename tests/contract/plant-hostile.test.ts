import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import { expect, test } from 'vitest';
import { checkFindings } from './hostile-text.ts';

test.each(['[', '{a: ', '- ', '? ', '"', '&a ', '!!', '|\n ', "{'", '*a '])(
  'twenty thousand of %j end soon and are refused',
  (piece) => {
    const text = piece.repeat(20_000);
    const read = readRecipe(text, 'file.yaml');
    expect(read.ok).toBe(false);
    checkFindings(read, text);
  },
);
