import type { PlantRevised, RecipeProposed } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { History } from '../ledger/ledger-index.ts';
import type { Ledger } from '../ledger/shape.ts';

const slice = 1000;

/** What is heard at a start, up to an entry. */
export interface HistoryRead extends History {
  untilN: number;
}

/** Folds are made of it, and of nothing else: entries in their order, in slices with the documents they name. */
export function readHistory(
  ledger: Pick<Ledger, 'entry' | 'entriesAfter' | 'blob'>,
  { early, fromN, untilN }: HistoryRead,
  hear: (entries: Entry[], documents: Buffer[]) => void,
): void {
  const tell = (entries: Entry[]) => hear(entries, documentsOf(entries, ledger));
  for (let i = 0; i < early.length; i += slice) {
    tell(early.slice(i, i + slice).flatMap((n) => ledger.entry(n) ?? []));
  }
  for (let after = fromN - 1; after < untilN;) {
    const stored = ledger.entriesAfter(after, Math.min(slice, untilN - after));
    if (stored.length === 0) return;
    tell(stored.map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry));
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
