import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { runSetwell } from '@setwell/collector/cli/program';
import { afterEach, beforeEach, expect, test } from 'vitest';

const fixtures = new URL('../fixtures/plant/', import.meta.url);
const plant = readFileSync(new URL('plant.yaml', fixtures), 'utf8');
const recipe = readFileSync(new URL('press-recipe.yaml', fixtures), 'utf8');
let folder = '';

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'setwell-check-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

async function setwell(...words: string[]) {
  let out = '';
  let err = '';
  const exit = await runSetwell(words, {
    out: (text) => (out += text),
    err: (text) => (err += text),
  });
  return { exit, out, err };
}

function write(name: string, text: string): string {
  const file = join(folder, name);
  mkdirSync(join(file, '..'), { recursive: true });
  writeFileSync(file, text);
  return file;
}

test('a good folder has no findings and ends with 0', async () => {
  cpSync(fixtures, folder, { recursive: true });
  const { exit, out } = await setwell('check', folder, '--json');
  expect(JSON.parse(out)).toEqual([]);
  expect(exit).toBe(0);
});

test('findings end with 1, and each names file, line, found and expected', async () => {
  const file = write('plant.yaml', plant.replace('lower: p1-ll', 'lower: p1-l1'));
  const json = await setwell('check', file, '--json');
  expect(json.exit).toBe(1);
  expect(json.err).toBe('');
  expect(JSON.parse(json.out)).toEqual([
    expect.objectContaining({
      code: 'unknown-point',
      file,
      line: 13,
      found: '"p1-l1"',
      nearest: 'p1-ll',
    }),
  ]);
  const words = await setwell('check', file);
  expect(words.exit).toBe(1);
  expect(words.out).toContain(`${file}:13:42: error: stations[0].zones[0].lower: found "p1-l1"`);
  expect(words.out).toContain('(p1-ll?)');
});

test('a warning alone ends with 0', async () => {
  const file = write('recipe.yaml', recipe.replace('referenceC: 135', 'referenceC: 20'));
  const { exit, out } = await setwell('check', file, '--json');
  expect(JSON.parse(out)).toEqual([expect.objectContaining({ severity: 'warning' })]);
  expect(exit).toBe(0);
});

test('files are also held against each other', async () => {
  write('plant.yaml', plant);
  write('recipes/a.yaml', recipe.replace('initialC: 20', 'initialC: { point: dock-1 }'));
  write('recipes/b.yaml', recipe);
  const { exit, out } = await setwell('check', folder, '--json');
  const codes = (JSON.parse(out) as { code: string }[]).map(({ code }) => code);
  expect(codes).toContain('unknown-point');
  expect(codes).toContain('id-twice');
  expect(exit).toBe(1);
});

test('a time zone that this machine does not know is an error', async () => {
  const file = write('plant.yaml', plant.replace('Europe/Copenhagen', 'Europe/Kopenhagen'));
  const { exit, out } = await setwell('check', file, '--json');
  expect(JSON.parse(out)).toEqual([
    expect.objectContaining({ code: 'unknown-time-zone', line: 1, field: 'site.timeZone' }),
  ]);
  expect(exit).toBe(1);
});

test('a file that is not there is bad input', async () => {
  const { exit, out } = await setwell('check', join(folder, 'none.yaml'), '--json');
  expect(JSON.parse(out)).toMatchObject({
    error: { code: 'no-such-file', file: join(folder, 'none.yaml') },
  });
  expect(exit).toBe(2);
});

test('a folder without a file of ours is bad input', async () => {
  const { exit, out } = await setwell('check', folder, '--json');
  expect(JSON.parse(out)).toMatchObject({ error: { code: 'no-files' } });
  expect(exit).toBe(2);
});

test('bytes that are no text are bad input, with their line', async () => {
  const file = write('plant.yaml', '');
  writeFileSync(file, Buffer.concat([Buffer.from('site:\n'), Buffer.from([0xff, 0xfe])]));
  const { exit, out } = await setwell('check', file, '--json');
  expect(JSON.parse(out)).toMatchObject({ error: { code: 'no-text', file, line: 2 } });
  expect(exit).toBe(2);
});

test('an unknown command or option is bad input, with the nearest name', async () => {
  const command = await setwell('chek', '--json');
  expect(command.exit).toBe(2);
  expect(JSON.parse(command.out)).toMatchObject({
    error: { code: 'unknown-command', field: 'command', found: '"chek"' },
  });
  expect(command.out).toContain('check; one of');
  const option = await setwell('check', '--jsn');
  expect(option.exit).toBe(2);
  expect(option.err).toContain('expected --json');
  expect(option.out).toBe('');
});

test.each([
  [['fit'], 'unknown-command', 'command', 'none'],
  [['fit', 'schedul', 'x.csv'], 'unknown-command', 'command', '"schedul"'],
  [['help', 'chek'], 'unknown-command', 'command', '"chek"'],
  [['sensor', '--typ', 'K'], 'unknown-option', '--typ', '"--typ"'],
  [['sensor', '--typ=K'], 'unknown-option', '--typ', '"--typ"'],
  [['sensor'], 'missing-option', '--type <type>', 'no --type <type>'],
  [['fit', 'schedule'], 'missing-option', 'file', 'no file'],
  [['check', '--', '--nothing'], 'no-such-file', undefined, 'no such file'],
])('%j is bad input, and says which word', async (words, code, field, found) => {
  const { exit, out } = await setwell('--json', ...words);
  const { error } = JSON.parse(out) as { error: Record<string, unknown> };
  expect(error).toMatchObject({ code, found });
  expect(error['field']).toBe(field);
  expect(exit).toBe(2);
});

test('an option that is missing is named with what it is for', async () => {
  const { exit, err } = await setwell('fit', 'conversion', 'x.csv');
  expect(exit).toBe(2);
  expect(err).toMatch(/--form <form>: found no --form <form>; expected --form <form>, \w/);
});

test('help and no command: help answers, no command is bad input', async () => {
  const help = await setwell('--help');
  expect(help).toMatchObject({ exit: 0, err: '' });
  expect(help.out).toContain('check');
  const none = await setwell();
  expect(none.exit).toBe(2);
  expect(none.out).toBe('');
  expect((await setwell('--json')).exit).toBe(2);
});
