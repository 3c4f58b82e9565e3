import { shownCoat, type CoatStack } from '@setwell/shared-models/record/coat-shown';
import { historiesOf } from '@setwell/shared-models/record/part-histories';
import type { CoatResult } from '@setwell/shared-models/score/shape';
import type { BakeAccount, CoatBake } from '../judge/coat-bakes.ts';

/** A bake as a model reads it: the documents of its account. */
export interface BakeDocuments {
  input: unknown;
  readingsCsv: string;
  unjudged?: boolean;
}

/**
 * The coats of a lot's parts, each computed whole from the readings of all its sealed bakes.
 *
 * @param bakes of the lot, by start
 */
export async function coatStacks(
  bakes: readonly CoatBake[],
  documentsOf: (account: BakeAccount) => BakeDocuments,
  scoreCoats: (bakes: BakeDocuments[]) => Promise<CoatResult[]>,
): Promise<CoatStack[]> {
  const sealed = bakes.flatMap(({ load, parts, account }) =>
    account === null ? [] : [{ load, parts, account }],
  );
  if (sealed.length === 0) return [];
  return Promise.all(
    historiesOf(sealed).map(async ({ parts, loads }) => {
      const coats = await scoreCoats(loads.map(({ account }) => documentsOf(account)));
      return { parts, coats: coats.map(shownCoat) };
    }),
  );
}
