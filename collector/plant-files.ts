import type { PlantRevised } from '@setwell/shared-models/record/bodies';
import type { LedgerFold } from './judge/ledger-fold.ts';
import { sha256Hex } from './ledger/sha256.ts';
import type { Proposal } from './ledger/shape.ts';
import { callsOfFaults, readRecipeFolder } from './recipe-folder.ts';

/** The plant's file and the recipes beside it, where they are new: recorded before anything rests on them. */
export function newFiles(
  { plantFile, plantText }: { plantFile: string; plantText: Buffer },
  fold: LedgerFold,
  log: (line: string) => void,
): Proposal[] {
  const sha256 = sha256Hex(plantText);
  const proposals: Proposal[] = [];
  if (fold.plantSha256 !== sha256) {
    const body: PlantRevised = { sha256, bytes: plantText.length };
    proposals.push({ kind: 'plant-revised', by: 'plant', about: {}, body, blobs: [plantText] });
  }
  const folder = readRecipeFolder(plantFile, fold);
  proposals.push(...folder.proposals);
  for (const { file, line, field, found, expected } of folder.faults) {
    log(`${file}:${String(line)}: ${field}: found ${found}, expected ${expected}`);
  }
  return [...proposals, ...callsOfFaults(folder.faults, fold)];
}
