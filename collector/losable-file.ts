import { rmSync } from 'node:fs';
import Database from 'better-sqlite3';

export interface LosableFile {
  path: string;
  /** Ends with the `user_version` that `version` says. */
  schema: string;
  version: number;
}

/**
 * A database that may be lost: a cursor that begins anew, a fold that is folded again. One that is
 * damaged or of another version is thrown away, for whoever fills it knows how to fill it again.
 *
 * Commits are not synced one by one: a power cut may take such a file back, never forward.
 *
 * @throws where the folder cannot be written
 */
export function openLosable(file: LosableFile): Database.Database {
  const db = opened(file) ?? anew(file);
  if (db === null) throw new Error(`${file.path} cannot be made anew`);
  return db;
}

function anew(file: LosableFile): Database.Database | null {
  for (const part of ['', '-wal', '-shm']) rmSync(`${file.path}${part}`, { force: true });
  return opened(file);
}

/** Null where what lies there is none of ours. */
function opened({ path, schema, version }: LosableFile): Database.Database | null {
  const db = new Database(path);
  try {
    db.pragma('journal_mode = WAL');
    db.pragma('synchronous = NORMAL');
    const found = db.pragma('user_version', { simple: true });
    if (found === 0) db.exec(`BEGIN; ${schema} COMMIT;`);
    // Reads the pages that say what is in it: a torn file is told here, not at its first use.
    db.prepare('SELECT COUNT(*) FROM sqlite_schema').get();
    if (found === 0 || found === version) return db;
  } catch (error) {
    db.close();
    const { code = '' } = error as { code?: string };
    if (/^SQLITE_(NOTADB|CORRUPT)/.test(code)) return null;
    throw error;
  }
  db.close();
  return null;
}
