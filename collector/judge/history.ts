import type { PlantRevised, RecipeProposed } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { Ledger } from '../ledger/shape.ts';

const slice = 1000;

/** Everything said up to an entry, in slices with the documents they name: folds are made of it, and of nothing else. */
export function readHistory(
  ledger: Pick<Ledger, 'entriesAfter' | 'blob'>,
  untilN: number,
  hear: (entries: Entry[], documents: Buffer[]) => void,
): void {
  for (let after = -1; after < untilN;) {
    const stored = ledger.entriesAfter(after, Math.min(slice, untilN - after));
    if (stored.length === 0) return;
    const entries = stored.map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry);
    hear(entries, documentsOf(entries, ledger));
    after = stored.at(-1)?.n ?? untilN;
  }
}

/** The documents that entries rest on and that the judge reads. */
export function documentsOf(entries: Entry[], ledger: Pick<Ledger, 'blob'>): Buffer[] {
  return entries.flatMap((entry) => {
    const sha256 = documentOf(entry);
    return (sha256 === null ? null : ledger.blob(sha256)) ?? [];
  });
}

function documentOf({ kind, body }: Entry): string | null {
  if (kind === 'plant-revised') return (body as PlantRevised).sha256;
  if (kind === 'recipe-proposed') return (body as RecipeProposed).recipe.sha256;
  return null;
}
