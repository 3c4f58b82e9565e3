import { existsSync, readdirSync, statSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import type { Finding, Read } from '@setwell/shared-models/plant/finding';
import type { Plant } from '@setwell/shared-models/plant/plant';
import { readLaw } from '@setwell/shared-models/plant/read-law';
import { readLayup } from '@setwell/shared-models/plant/read-layup';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { tellTogether } from '@setwell/shared-models/plant/together';
import type { Command } from 'commander';
import { CommandProblem, problemOfFile } from '../problem.ts';
import { readTextFile } from '../text-file.ts';
import { answered, type Answer } from './answer.ts';
import { mostOwnBytes } from './own-file.ts';

/** A folder of a plant holds hundreds of recipes, never this many files. */
const mostFiles = 10_000;

export function registerCheck(program: Command): void {
  program
    .command('check')
    .description('find what is wrong in plant, recipe, law and lay-up files')
    .argument('[file...]', 'files, or folders of them', ['.'])
    .action(answered(check));
}

/** What is wrong in files, each alone and all together. */
export function check(paths: string[]): Answer {
  const files = [...new Set(paths.flatMap(filesAt))];
  if (files.length === 0) {
    throw new CommandProblem({
      code: 'no-files',
      file: paths.join(', '),
      found: 'no .yaml, .yml or .json file',
      expected: 'a plant.yaml, recipes, laws or lay-ups',
    });
  }
  const plants: { file: string; value: Plant }[] = [];
  const recipes: { file: string; value: Recipe }[] = [];
  const findings: Finding[] = [];
  for (const file of files) {
    const text = readTextFile(file, 'a plant, recipe, law or lay-up', mostOwnBytes);
    const read = readAs(kindOf(file, text), text, file);
    findings.push(...read.findings);
    if (!read.ok) continue;
    if (read.kind === 'plant') {
      plants.push({ file, value: read.value });
      findings.push(...unknownTimeZone(read.value, file, text));
    }
    if (read.kind === 'recipe') recipes.push({ file, value: read.value });
  }
  findings.push(...tellTogether(plants, recipes));
  return answerOf(files.length, findings);
}

function answerOf(count: number, findings: Finding[]): Answer {
  const errors = findings.filter(({ severity }) => severity === 'error').length;
  const summary = `${plural(count, 'file')} checked: ${plural(errors, 'error')}, ${plural(findings.length - errors, 'warning')}`;
  return {
    document: findings,
    text: [...findings.map(findingText), summary].join('\n'),
    exit: errors > 0 ? 1 : 0,
  };
}

function findingText(finding: Finding): string {
  const { file, line, column, severity, field, found, expected, nearest } = finding;
  const where = `${file}:${line}:${column}`;
  const meant = nearest === undefined ? '' : ` (${nearest}?)`;
  return `${where}: ${severity}: ${field === '' ? '' : `${field}: `}found ${found}; expected ${expected}${meant}`;
}

function plural(count: number, word: string): string {
  return `${count} ${word}${count === 1 ? '' : 's'}`;
}

type Kind = 'plant' | 'recipe' | 'law' | 'layup';

/** What a file is meant to be, from its name, else from the first keys that only one kind has. */
function kindOf(file: string, text: string): Kind {
  if (/^plant\b/.test(basename(file))) return 'plant';
  const has = (key: string) => new RegExp(`^(\\{\\s*)?"?${key}"?\\s*:`, 'm').test(text);
  if (has('site') || has('stations') || has('broker')) return 'plant';
  if (has('window') || has('kind') || has('law')) return 'recipe';
  if (has('form') || has('switch')) return 'law';
  return has('layers') ? 'layup' : 'recipe';
}

type ReadAs =
  | { ok: false; kind: Kind; findings: Finding[] }
  | { ok: true; kind: 'plant'; value: Plant; findings: Finding[] }
  | { ok: true; kind: 'recipe'; value: Recipe; findings: Finding[] }
  | { ok: true; kind: 'law' | 'layup'; findings: Finding[] };

function readAs(kind: Kind, text: string, file: string): ReadAs {
  const tag = <T, K extends Kind>(read: Read<T>, as: K) => ({ ...read, kind: as });
  switch (kind) {
    case 'plant':
      return tag(readPlant(text, file), kind);
    case 'recipe':
      return tag(readRecipe(text, file), kind);
    case 'law':
      return tag(readLaw(text, file), kind);
    case 'layup':
      return tag(readLayup(text, file), kind);
  }
}

function filesAt(path: string): string[] {
  try {
    if (!statSync(path).isDirectory()) return [path, ...recipesOf(path)];
    const files = readdirSync(path, { withFileTypes: true })
      .filter((entry) => entry.isFile() && /\.(ya?ml|json)$/.test(entry.name))
      // Not ours, though they lie beside ours in every project.
      .filter(({ name }) => !/^\.|^(package|tsconfig)|^(docker-)?compose\./.test(name))
      .map((entry) => join(path, entry.name))
      .sort();
    const recipes = join(path, 'recipes');
    const all = existsSync(recipes) ? [...files, ...filesAt(recipes)] : files;
    if (all.length <= mostFiles) return all;
    throw new CommandProblem({
      code: 'too-many-files',
      file: path,
      found: `${all.length} files`,
      expected: `at most ${mostFiles}`,
    });
  } catch (error) {
    if (error instanceof CommandProblem) throw error;
    throw problemOfFile(path, error, 'a file or a folder');
  }
}

/** A plant is started with the recipes beside its file: they are checked with it. */
function recipesOf(path: string): string[] {
  const recipes = join(dirname(path), 'recipes');
  return /^plant\b/.test(basename(path)) && existsSync(recipes) ? filesAt(recipes) : [];
}

/** Only the machine knows the zones: the readers are pure. */
function unknownTimeZone({ site: { timeZone } }: Plant, file: string, text: string): Finding[] {
  try {
    new Intl.DateTimeFormat('en', { timeZone });
    return [];
  } catch {
    const before = text.slice(0, text.indexOf('timeZone')).split('\n');
    return [
      {
        code: 'unknown-time-zone',
        severity: 'error',
        file,
        line: before.length,
        column: (before.at(-1)?.length ?? 0) + 1,
        field: 'site.timeZone',
        found: JSON.stringify(timeZone),
        expected: 'a time zone such as Europe/Copenhagen',
      },
    ];
  }
}
