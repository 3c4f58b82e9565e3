import type { LotRetention } from '@setwell/shared-models/record/retention';

/** Who keeps a lot's documents, since when, and why. */
export function holdWords({ n, by, atMs, reason }: NonNullable<LotRetention['hold']>): string {
  const since = `${timeWords(atMs)} by ${by} (entry ${String(n)})`;
  return `legal hold since ${since}: nothing of it is deleted; ${JSON.stringify(reason)}`;
}

export function droppedWords({ n, atMs, documents }: NonNullable<LotRetention['dropped']>): string {
  return (
    `${String(documents)} documents were deleted after their time at ${timeWords(atMs)} (entry ${String(n)}): ` +
    'the entries are all here, what those documents led to cannot be computed again'
  );
}

/** An entry of somebody else's file may say any number. */
function timeWords(ms: number): string {
  const date = new Date(ms);
  return Number.isNaN(date.getTime()) ? `${String(ms)} ms` : date.toISOString();
}
