import Database from 'better-sqlite3';
import type { Entry } from '@setwell/shared-models/record/entry';
import { finishedBy, leafHash, rootHash } from '@setwell/shared-models/record/tree';
import { signedCheckpoint } from './held-checkpoint.ts';
import { LedgerError } from './ledger-error.ts';
import { sha256 } from './sha256.ts';

/** A ledger's file as it is found. */
export interface WholeLedger {
  log: string;
  size: number;
  /** Hex. */
  root: string;
  /** The newest signed checkpoint, as text; null while none was signed. */
  checkpoint: string | null;
}

/**
 * Reads every entry of a ledger's file and hashes it anew: leaves, subtrees, and the root of the newest
 * checkpoint. Some seconds for a million entries, in the memory of one.
 *
 * @throws LedgerError naming the first entry that is not what was recorded
 */
export function readWholeLedger(path: string): WholeLedger {
  let db: Database.Database;
  try {
    db = new Database(path, { readonly: true, fileMustExist: true });
  } catch (error) {
    throw new LedgerError('damaged', `${path}: ${String(error)}`, error);
  }
  try {
    // As of one moment, also while a collector writes.
    return db.transaction(() => whole(db, path))();
  } catch (error) {
    if (!(error instanceof Database.SqliteError)) throw error;
    throw new LedgerError('damaged', `${path}: ${error.message}`, error);
  } finally {
    db.close();
  }
}

function whole(db: Database.Database, path: string): WholeLedger {
  const stored = db
    .prepare<[number, number], Buffer>('SELECT hash FROM node WHERE level = ? AND i = ?')
    .pluck();
  const rows = db.prepare<[], { n: number; bytes: Buffer; leaf: Buffer }>(
    'SELECT n, bytes, leaf FROM entry ORDER BY n',
  );
  const damaged = (what: string) => new LedgerError('damaged', `${path}: ${what}`);
  // The right edge is all of the tree that the next leaf needs.
  const edge = new Map<string, Uint8Array>();
  const nodes = (level: number, i: number): Uint8Array => {
    const hash = edge.get(`${String(level)}/${String(i)}`);
    if (!hash) throw damaged(`no node ${String(level)}/${String(i)}`);
    return hash;
  };
  const note = newestNote(db);
  const signed = note === null ? null : (signedCheckpoint(note)?.checkpoint ?? null);
  let size = 0;
  let last: Buffer | null = null;
  for (const { n, bytes, leaf } of rows.iterate()) {
    if (n !== size) throw damaged(`entry ${String(size)} is missing`);
    const hash = leafHash(sha256, bytes);
    if (!leaf.equals(hash)) throw damaged(`entry ${String(n)} is not what was recorded`);
    const finished = finishedBy(sha256, nodes, n, hash);
    edge.set(`0/${String(n)}`, hash);
    for (const node of finished) {
      const { level, i } = node;
      const kept = stored.get(level, i) as unknown as Buffer | undefined;
      if (!kept?.equals(node.hash))
        throw damaged(`node ${String(level)}/${String(i)} is not its own`);
      edge.delete(`${String(level - 1)}/${String(2 * i)}`);
      edge.delete(`${String(level - 1)}/${String(2 * i + 1)}`);
      edge.set(`${String(level)}/${String(i)}`, node.hash);
    }
    size += 1;
    last = bytes;
    if (signed?.size === size) {
      const root = Buffer.from(rootHash(sha256, nodes, size)).toString('base64');
      if (root !== signed.root) {
        throw damaged(`the first ${String(size)} entries are not those that were signed`);
      }
    }
  }
  if (last === null) throw damaged('no entries');
  if (signed && signed.size > size) throw damaged(`${String(signed.size)} entries were signed`);
  const { log } = JSON.parse(last.toString('utf8')) as Entry;
  const root = Buffer.from(rootHash(sha256, nodes, size)).toString('hex');
  return { log, size, root, checkpoint: note };
}

function newestNote(db: Database.Database): string | null {
  const newest = db.prepare<[], string>(
    'SELECT note FROM checkpoint ORDER BY size DESC, atMs DESC LIMIT 1',
  );
  return (newest.pluck().get() as unknown as string | undefined) ?? null;
}
