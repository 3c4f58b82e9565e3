import type { Entry, EntryKind } from './entry.ts';
import type {
  KeyChanged,
  LoadOpened,
  PlantRevised,
  RecipeApproved,
  RecipeProposed,
} from './bodies.ts';

/** `proof.json`: what ties the members of a bundle to a signed checkpoint. Its RFC 8785 bytes are kept. */
export interface BundleProof {
  format: 1;
  lot: string;
  /** C2SP signed note. */
  checkpoint: string;
  /** The verifier key of that note, as the log names it. Trust in it comes from outside. */
  key: string;
  /** One for each line of `ledger.jsonl`: its number, and the inclusion path in the checkpoint, base64. */
  entries: { n: number; path: string[] }[];
  /** From an older checkpoint to this one; null where none was asked for. */
  since: { checkpoint: string; path: string[] } | null;
  /** SHA-256 of every other member, hex. */
  members: Record<string, string>;
}

/** The members whose digests the export's own entry fixes: all but those that hold that entry. */
export const membersOutside = ['ledger.jsonl', 'proof.json'];

/** Names a bundle may have beside those of its loads, listings and models. */
export const fixedMembers = ['README.txt', 'lot.json', 'record.pdf', ...membersOutside];

/** Members of each account of a load, by the number of its entry. */
export const accountMembers = [
  'input.json',
  'readings.csv',
  'result.json',
  'recipe.yaml',
  'doubtful.csv',
] as const;

export function accountMember(n: number, name: (typeof accountMembers)[number]): string {
  return `loads/${String(n)}/${name}`;
}

export function listingMember(sha256: string): string {
  return `listings/${sha256}.json`;
}

export function modelMember(number: number): string {
  return `model-${String(number)}.mjs`;
}

const memberNames = new RegExp(
  `^(${fixedMembers.map((name) => name.replace('.', '\\.')).join('|')}` +
    `|loads/(0|[1-9][0-9]*)/(${accountMembers.map((name) => name.replace('.', '\\.')).join('|')})` +
    `|listings/[0-9a-f]{64}\\.json|model-[1-9][0-9]*\\.mjs)$`,
);

/** Whether a member of that name belongs into a bundle; a climbing path does not. */
export function isMemberName(name: string): boolean {
  return memberNames.test(name);
}

/** Entries that name the key of a log. */
export const keyKinds: readonly EntryKind[] = ['log-started', 'log-continued', 'key-changed'];

/** The key that an entry names for what follows it, itself included; null for most. */
export function keyIn({ kind, body }: Entry): string | null {
  if (kind === 'key-changed') return (body as KeyChanged).to;
  if (kind !== 'log-started' && kind !== 'log-continued') return null;
  return (body as { key?: string | null }).key ?? null;
}

/** What a lot's entries rest on beside themselves: its recipes' revisions and approvals, its plant files. */
export function isFoundation(
  entry: Entry,
  opened: readonly Pick<LoadOpened, 'recipe' | 'plantSha256'>[],
): boolean {
  if (keyKinds.includes(entry.kind)) return true;
  if (entry.kind === 'plant-revised') {
    const { sha256 } = entry.body as PlantRevised;
    return opened.some(({ plantSha256 }) => plantSha256 === sha256);
  }
  if (entry.kind !== 'recipe-proposed' && entry.kind !== 'recipe-approved') return false;
  // In somebody else's file it may be missing.
  const { recipe } = entry.body as Partial<RecipeProposed | RecipeApproved>;
  return opened.some(
    (load) =>
      load.recipe !== null &&
      load.recipe.id === recipe?.id &&
      load.recipe.revision === recipe.revision,
  );
}
