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

/** The append-only sequence of all that was done and said. One writer; anybody may read. */
export interface Ledger {
  /** site/collector/life */
  readonly log: string;
  /** Number of entries; the next one gets this number. */
  size(): number;
  /** Appends a group in one transaction and answers its entries. */
  append(proposals: Proposal[]): Entry[];
  entry(n: number): Entry | null;
  entriesAfter(n: number, limit: number): StoredEntry[];
  blob(sha256: string): Buffer | null;
  /** The entry an act has led to; null if it has not. */
  ofAct(id: string): Entry | null;
  /** Called after each committed group. The answer unsubscribes. */
  onAppend(listener: (entries: StoredEntry[]) => void): () => void;
  close(): void;
}
