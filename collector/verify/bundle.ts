import { isDeeperThan } from '@setwell/shared-models/plant/payload-fault';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import { isMemberName, type BundleProof } from '@setwell/shared-models/record/bundle';
import type { LoadOpened, LotListing } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { PeriodProof } from '@setwell/shared-models/record/period';
import { leafHash } from '@setwell/shared-models/record/tree';
import { z } from 'zod';
import { readStoredZip } from '../export/stored-zip.ts';
import { sha256 } from '../ledger/sha256.ts';
import type { Findings } from './finding.ts';

/** One line of `ledger.jsonl`. */
export interface BundleLine {
  bytes: Buffer;
  leaf: Uint8Array;
  entry: Entry;
}

/** A bundle that can be read; whether it may be believed is another question. */
export interface Bundle {
  members: ReadonlyMap<string, Buffer>;
  proof: BundleProof;
  lines: BundleLine[];
}

const sha256Text = z.string().regex(/^[0-9a-f]{64}$/);
const text = z.string().max(200);
const count = z.number().int().nonnegative();

/** What ties members and entries to a signed checkpoint, of a lot or of a period. */
const sealedProof = {
  format: z.literal(1),
  checkpoint: z.string().max(4096),
  key: z.string().max(400),
  since: z
    .strictObject({ checkpoint: z.string().max(4096), path: z.array(text).max(128) })
    .nullable(),
  members: z.record(text, sha256Text),
};

const proofSchema = z.strictObject({
  ...sealedProof,
  lot: text,
  entries: z.array(z.strictObject({ n: count, path: z.array(text).max(64) })).max(1_000_000),
});

/** A log has a few keys in its life, a period's entries lie together. */
const mostRanges = 1_000;

export const periodProofSchema: z.ZodType<PeriodProof> = z.strictObject({
  ...sealedProof,
  fromMs: z.number(),
  toMs: z.number(),
  first: count,
  next: count,
  shown: z
    .array(z.tuple([count, count]))
    .min(1)
    .max(mostRanges),
  hidden: z.array(text).max(64 * mostRanges),
});

const entrySchema = z.strictObject({
  v: z.literal(1),
  log: text,
  n: count,
  at: z.number(),
  kind: text,
  by: text,
  about: z.looseObject({
    load: text.optional(),
    lots: z.array(text).max(1000).optional(),
  }),
  cites: z.array(z.looseObject({})).max(1000),
  body: z.looseObject({}),
});

const named = z.looseObject({ sha256: sha256Text });

/** What is read of an account of a load. */
export const accountSchema = z.looseObject({
  revision: z.number().int().positive(),
  model: z.looseObject({ number: count.nullable(), sha256: sha256Text.nullable() }),
  input: named,
  readings: named.extend({ count }),
  result: named,
  doubtful: named.optional(),
  verdict: z.enum(['in-window', 'under', 'over', 'unproven']),
  side: z.enum(['short', 'long', 'both']).nullable(),
  worst: z.unknown(),
  amends: sha256Text.optional(),
  deviations: count.nullable(),
  unjudged: z.enum(['no-recipe', 'faulted']).optional(),
});

export type Account = z.infer<typeof accountSchema>;

export const openedSchema: z.ZodType<
  Pick<LoadOpened, 'load' | 'lot' | 'recipe' | 'plantSha256'> & {
    place?: { placeK: number } | undefined;
  }
> = z.looseObject({
  load: text,
  lot: text,
  recipe: z.looseObject({ id: text, revision: count, sha256: sha256Text }).nullable(),
  plantSha256: sha256Text,
  place: z.looseObject({ placeK: z.number().nonnegative() }).optional(),
});

const mark = z.looseObject({ earliestMs: z.number() });

/** What is read of what a person has put right. */
export const correctedSchema = z.looseObject({
  change: z.discriminatedUnion('what', [
    z.looseObject({ what: z.enum(['void', 'readings']) }),
    z.looseObject({
      what: z.literal('marks'),
      marks: z.looseObject({ pressureOn: mark.optional() }),
    }),
    z.looseObject({
      what: z.literal('recipe'),
      recipe: z.looseObject({ id: text, revision: count, sha256: sha256Text }),
    }),
    z.looseObject({ what: z.literal('lot'), lot: text, parts: z.array(z.string()) }),
  ]),
});

const listedLoad = z.looseObject({ load: text, log: text, n: count, leaf: text, revision: count });

/** A listing, or where the blob is that holds it. */
export const listingSchema: z.ZodType<LotListing & { whole?: { sha256: string } | undefined }> =
  z.looseObject({
    loads: z.array(listedLoad),
    entries: z.array(count),
    whole: named.optional(),
  });

/** Reads what can be read. @returns null where nothing can; the findings say why */
export function readBundle(zip: Buffer, findings: Findings): Bundle | null {
  const read = readStoredZip(zip);
  if ('fault' in read) {
    const expected = 'a stored zip as setwell export writes it';
    findings.add('not-a-bundle', 'authentic', 'bundle', read.fault, expected);
    return null;
  }
  if (!read.isCanonical) {
    const found = 'bytes that belong to no member, or headers that do not agree';
    const expected = 'the one archive that these members have';
    findings.add('not-canonical', 'authentic', 'bundle', found, expected);
  }
  const members = new Map<string, Buffer>();
  for (const { name, bytes } of read.members) {
    if (members.has(name) || !isMemberName(name)) {
      const found = members.has(name) ? 'a second member of that name' : 'a name of no member';
      findings.add(
        'unknown-member',
        'authentic',
        name,
        found,
        'the members of a bundle, each once',
      );
      continue;
    }
    members.set(name, bytes);
  }
  return bundleOf(members, findings);
}

/** @returns null where proof or entries cannot be read */
export function bundleOf(members: ReadonlyMap<string, Buffer>, findings: Findings): Bundle | null {
  const proof = parsed(members, 'proof.json', proofSchema, findings) as BundleProof | null;
  const lines = readLines(members, findings);
  return proof && lines && { members, proof, lines };
}

/** A member that is canonical JSON of a shape; null, with a finding, where it is not. */
export function parsed<T>(
  members: ReadonlyMap<string, Buffer>,
  name: string,
  schema: z.ZodType<T>,
  findings: Findings,
): T | null {
  const bytes = members.get(name);
  if (!bytes) {
    findings.add('missing-member', 'authentic', name, 'nothing', 'this member of a bundle');
    return null;
  }
  const value = canonicalValue(bytes);
  if (value === undefined) {
    const found = 'something that is no canonical JSON';
    findings.add('broken-json', 'authentic', name, found, 'RFC 8785 JSON');
    return null;
  }
  const shaped = schema.safeParse(value);
  if (shaped.success) return shaped.data;
  const [issue] = shaped.error.issues;
  const found = `${issue?.path.join('.') ?? ''}: ${issue?.message ?? ''}`;
  findings.add('broken-json', 'authentic', name, found, 'the shape of this member');
  return null;
}

function readLines(members: ReadonlyMap<string, Buffer>, findings: Findings): BundleLine[] | null {
  const bytes = members.get('ledger.jsonl');
  if (!bytes) {
    findings.add('missing-member', 'authentic', 'ledger.jsonl', 'nothing', 'the entries');
    return null;
  }
  return linesOf('ledger.jsonl', bytes, findings);
}

/** Entries of a member that holds one a line; what is none is a finding. */
export function linesOf(name: string, bytes: Buffer, findings: Findings): BundleLine[] {
  const lines: BundleLine[] = [];
  let at = 0;
  let number = 0;
  while (at < bytes.length) {
    const end = bytes.indexOf(0x0a, at);
    const line = bytes.subarray(at, end === -1 ? bytes.length : end);
    at = end === -1 ? bytes.length : end + 1;
    number += 1;
    const value = canonicalValue(line);
    if (entrySchema.safeParse(value).success) {
      lines.push({ bytes: line, leaf: leafHash(sha256, line), entry: value as Entry });
    } else {
      const where = `${name}, line ${String(number)}`;
      findings.add('unreadable-entry', 'authentic', where, 'no entry', 'one entry a line');
    }
  }
  return lines;
}

/** What a member says; null for one that is missing or no canonical JSON. */
export function jsonOf(bytes: Buffer | undefined): unknown {
  return (bytes && canonicalValue(bytes)) ?? null;
}

/** No document has so many; how deep the stack is hangs on what ran before, and must decide nothing. */
const mostLevels = 64;

/** A JSON value whose canonical text is these bytes; undefined for anything else. */
function canonicalValue(bytes: Buffer): unknown {
  try {
    const value = JSON.parse(bytes.toString('utf8')) as unknown;
    if (isDeeperThan(value, mostLevels)) return undefined;
    return Buffer.from(canonicalJson(value)).equals(bytes) ? value : undefined;
  } catch (error) {
    // Also what is nested deeper than the parser's own stack.
    if (error instanceof SyntaxError || error instanceof RangeError) return undefined;
    throw error;
  }
}
