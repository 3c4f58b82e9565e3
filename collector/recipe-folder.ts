import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { Finding } from '@setwell/shared-models/plant/finding';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import type { CallCleared, CallRaised } from '@setwell/shared-models/record/bodies';
import { cutText } from '@setwell/shared-models/record/well-formed';
import type { LedgerFold } from './judge/ledger-fold.ts';
import { sha256Hex } from './ledger/sha256.ts';
import type { Proposal } from './ledger/shape.ts';

/** A recipe is a page of text. */
const mostBytes = 1024 * 1024;
const mostFiles = 2000;

/** Recipes beside the plant's file: those the ledger does not have yet, and those that do not read. */
export interface RecipeFolder {
  proposals: Proposal[];
  /** First fault of each file that cannot be used. */
  faults: Finding[];
}

/**
 * What a file says now is the newest revision, proposed and approved by the plant: whoever may write that
 * folder may set recipes. A text that is put back is a revision of its own; a recipe whose file is gone is
 * withdrawn, unless a file does not read: it may be that one.
 */
export function readRecipeFolder(plantFile: string, fold: LedgerFold): RecipeFolder {
  const folder = join(dirname(plantFile), 'recipes');
  const found: RecipeFolder = { proposals: [], faults: [] };
  if (!existsSync(folder)) return found;
  const files = new Map<string, string>();
  const names = readdirSync(folder).filter((name) => /\.ya?ml$/.test(name));
  for (const name of names.sort().slice(0, mostFiles)) {
    const path = join(folder, name);
    if (statSync(path).size > mostBytes) {
      const size = `${String(statSync(path).size)} bytes`;
      found.faults.push(fault(name, 'too-large', size, `at most ${String(mostBytes)} bytes`));
      continue;
    }
    const bytes = readFileSync(path);
    const read = readRecipe(bytes.toString('utf8'), name);
    if (!read.ok) {
      const first = read.findings.find(({ severity }) => severity === 'error');
      if (first) found.faults.push(first);
      continue;
    }
    const { id } = read.value;
    const other = files.get(id);
    if (other !== undefined) {
      found.faults.push(fault(name, 'duplicate-id', id, `an id of its own; ${other} has it`));
      continue;
    }
    files.set(id, name);
    found.proposals.push(...revisionOf(id, read.value.title, bytes, fold));
  }
  if (found.faults.length === 0 && names.length <= mostFiles) {
    const gone = [...fold.recipes.keys()].filter((id) => !files.has(id));
    found.proposals.push(...gone.flatMap((id) => withdrawalOf(id, fold)));
  }
  return found;
}

function withdrawalOf(id: string, fold: LedgerFold): Proposal[] {
  const approved = (fold.recipes.get(id) ?? []).filter(({ approved }) => approved);
  return approved.map(({ ref }) => ({
    kind: 'recipe-withdrawn',
    by: 'plant',
    about: { recipe: id },
    body: { recipe: ref, reason: "no longer lies in the plant's recipe folder" },
  }));
}

function revisionOf(id: string, title: string, bytes: Buffer, fold: LedgerFold): Proposal[] {
  const sha256 = sha256Hex(bytes);
  const known = fold.recipes.get(id) ?? [];
  const newest = known.at(-1);
  if (newest?.approved && newest.ref.sha256 === sha256) return [];
  const revision = Math.max(0, ...known.map(({ ref }) => ref.revision)) + 1;
  const recipe = { id, revision, sha256 };
  const about = { recipe: id };
  return [
    {
      kind: 'recipe-proposed',
      by: 'plant',
      about,
      body: { recipe, title, bytes: bytes.length },
      blobs: [bytes],
    },
    {
      kind: 'recipe-approved',
      by: 'plant',
      about,
      body: { recipe, reason: "lies in the plant's recipe folder" },
    },
  ];
}

function fault(file: string, code: string, found: string, expected: string): Finding {
  return { code, severity: 'error', file, line: 1, column: 1, field: '', found, expected };
}

/** Calls for the files that cannot be used, each raised once; cleared when the file reads again. */
export function callsOfFaults(faults: Finding[], fold: LedgerFold): Proposal[] {
  const up = new Set([...fold.calls.keys()].filter((id) => id.startsWith('collector.')));
  const proposals: Proposal[] = [];
  for (const { code, file, line, field, found, expected } of faults) {
    const call = `collector.${file}.${code}`;
    if (up.delete(call)) continue;
    const body: CallRaised = {
      kind: 'collector',
      station: null,
      load: null,
      point: null,
      who: 'engineer',
      tooLateMs: null,
      values: { file, line, field, found: cutText(found, 200), expected: cutText(expected, 200) },
    };
    proposals.push({ kind: 'call-raised', by: 'collector', about: { call }, body });
  }
  for (const call of up) {
    const body: CallCleared = { because: 'recovered' };
    proposals.push({ kind: 'call-cleared', by: 'collector', about: { call }, body });
  }
  return proposals;
}
