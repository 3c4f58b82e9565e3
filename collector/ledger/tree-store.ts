import type Database from 'better-sqlite3';
import { hiddenHashes, type Shown } from '@setwell/shared-models/record/shown-entries';
import {
  consistencyPath,
  finishedBy,
  inclusionPath,
  rootHash,
  type Sha256,
} from '@setwell/shared-models/record/tree';

/** The tree over a ledger's entries: leaves lie with the entries, complete subtrees in rows of their own. */
export class TreeStore {
  readonly #sha256: Sha256;
  readonly #leaf;
  readonly #node;
  readonly #addNode;

  constructor(db: Database.Database, sha256: Sha256) {
    this.#sha256 = sha256;
    this.#leaf = db.prepare<[number], Buffer>('SELECT leaf FROM entry WHERE n = ?').pluck();
    this.#node = db
      .prepare<[number, number], Buffer>('SELECT hash FROM node WHERE level = ? AND i = ?')
      .pluck();
    this.#addNode = db.prepare('INSERT INTO node (level, i, hash) VALUES (?, ?, ?)');
  }

  /** Within the transaction that adds entry `n`: a tree is never behind its leaves. */
  add(n: number, leaf: Buffer): void {
    for (const { level, i, hash } of finishedBy(this.#sha256, this.#read, n, leaf)) {
      this.#addNode.run(level, i, hash);
    }
  }

  root(size: number): Buffer {
    return Buffer.from(rootHash(this.#sha256, this.#read, size));
  }

  /** @throws RangeError for an entry outside the tree of that size */
  inclusion(n: number, size: number): Buffer[] {
    return inclusionPath(this.#sha256, this.#read, n, size).map((hash) => Buffer.from(hash));
  }

  /** @throws RangeError unless 0 < earlier ≤ later */
  consistency(earlier: number, later: number): Buffer[] {
    return consistencyPath(this.#sha256, this.#read, earlier, later).map((hash) =>
      Buffer.from(hash),
    );
  }

  hidden(shown: Shown, size: number): Buffer[] {
    return hiddenHashes(this.#sha256, this.#read, shown, size).map((hash) => Buffer.from(hash));
  }

  readonly #read = (level: number, i: number): Uint8Array => {
    const hash = level === 0 ? this.#leaf.get(i) : this.#node.get(level, i);
    if (hash === undefined) throw new RangeError(`no node ${String(level)}/${String(i)}`);
    return hash as unknown as Buffer;
  };
}
