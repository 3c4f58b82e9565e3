import type { LogContinued } from '@setwell/shared-models/record/bodies';
import type { Checkpoint } from '@setwell/shared-models/record/checkpoint';
import type { Shown } from '@setwell/shared-models/record/shown-entries';
import type { About, Citation, Entry, EntryKind } from '@setwell/shared-models/record/entry';

/** What somebody wants said; the one writer numbers it. */
export interface Proposal {
  kind: EntryKind;
  by: string;
  about: About;
  cites?: Citation[];
  body: object;
  /** Documents the body names by SHA-256. */
  blobs?: Buffer[];
  /** SHA-256 of documents that are deleted with it, hex. */
  drops?: string[];
  /** The act it answers: the same id again is not appended twice. */
  act?: string;
}

export interface StoredEntry {
  n: number;
  /** RFC 8785 bytes. */
  bytes: Buffer;
  /** SHA-256(0x00 ‖ bytes), hex. */
  leaf: string;
}

/** A checkpoint as it leaves the house. */
export interface SignedCheckpoint extends Checkpoint {
  /** The C2SP signed note, bytes and all. */
  note: string;
  /** The collector's clock [ms]. */
  atMs: number;
  /** The verifier key that belongs to it. */
  key: string;
}

/** How far a log has been seen. */
export interface LogEnd {
  size: number;
  /** Hex. */
  root: string;
}

/** What the tree over the entries shows to whoever doubts. */
export interface LedgerTree {
  root(size: number): Buffer;
  /** @throws RangeError for an entry outside the tree of that size */
  inclusion(n: number, size: number): Buffer[];
  /** @throws RangeError unless 0 < earlier ≤ later */
  consistency(earlier: number, later: number): Buffer[];
  /** Hashes of the subtrees between the entries that are shown. */
  hidden(shown: Shown, size: number): Buffer[];
}

/** The append-only sequence of all that was done and said. One writer; anybody may read. */
export interface Ledger {
  /** site/collector/life: of the entries to come. Earlier lives' entries stand before them in one tree. */
  readonly log: string;
  readonly tree: LedgerTree;
  /** Number of entries; the next one gets this number. */
  size(): number;
  /** Appends a group in one transaction and answers its entries. */
  append(proposals: Proposal[]): Entry[];
  entry(n: number): Entry | null;
  entriesAfter(n: number, limit: number): StoredEntry[];
  blob(sha256: string): Buffer | null;
  /** The entry an act has led to; null if it has not. */
  ofAct(id: string): Entry | null;
  /** The newest checkpoint; null while none was signed. */
  checkpoint(): SignedCheckpoint | null;
  /** The signed note of so many entries; null where none was signed. */
  noteOf(size: number): string | null;
  /** Signs one now, where anything is new since the last. */
  sign(): SignedCheckpoint | null;
  /** The entries that name a key, oldest first. */
  keys(): { n: number; vkey: string }[];
  /** Begins the next life on the same tree: after a restore, or when a copy of this log was found outside. */
  continueAs(because: LogContinued['because'], seenOutside: LogEnd | null): Entry;
  /** Called after each signature. The answer unsubscribes. */
  onCheckpoint(listener: (checkpoint: SignedCheckpoint) => void): () => void;
  /** Called after each committed group. The answer unsubscribes. */
  onAppend(listener: (entries: StoredEntry[]) => void): () => void;
  close(): void;
}
