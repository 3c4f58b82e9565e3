import { readFileSync } from 'node:fs';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import type { PlantRevised } from '@setwell/shared-models/record/bodies';
import type { ReadPlant } from './judge/documents.ts';
import type { LedgerFold } from './judge/ledger-fold.ts';
import { sha256Hex } from './ledger/sha256.ts';
import type { Proposal } from './ledger/shape.ts';
import { callsOfFaults, readRecipeFolder } from './recipe-folder.ts';
import { BadPlant } from './setting.ts';

interface PlantFile extends ReadPlant {
  text: Buffer;
}

/** @throws BadPlant */
export function readPlantFile(plantFile: string): PlantFile {
  const text = readFileSync(plantFile);
  const read = readPlant(text.toString('utf8'), plantFile);
  if (!read.ok) throw new BadPlant(plantFile, read.findings);
  return { text, sha256: sha256Hex(text), plant: read.value };
}

/** The plant's file and the recipes beside it, where they are new: recorded before anything rests on them. */
export function newFiles(
  plantFile: string,
  { text, sha256 }: PlantFile,
  fold: LedgerFold,
  log: (line: string) => void,
): Proposal[] {
  const proposals: Proposal[] = [];
  if (fold.plantSha256 !== sha256) {
    const body: PlantRevised = { sha256, bytes: text.length };
    proposals.push({ kind: 'plant-revised', by: 'plant', about: {}, body, blobs: [text] });
  }
  const folder = readRecipeFolder(plantFile, fold);
  proposals.push(...folder.proposals);
  for (const { file, line, field, found, expected } of folder.faults) {
    log(`${file}:${String(line)}: ${field}: found ${found}, expected ${expected}`);
  }
  return [...proposals, ...callsOfFaults(folder.faults, fold)];
}
