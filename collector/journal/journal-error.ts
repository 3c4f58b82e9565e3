import Database from 'better-sqlite3';

/** The journal's disk refused. Nothing of the batch is stored, so nothing of it is acknowledged. */
export class JournalError extends Error {
  readonly code: string;
  /** Whether the same batch may succeed later (disk full, busy), or the file itself is at fault. */
  readonly retryable: boolean;

  constructor(code: string, message: string, retryable: boolean, cause?: unknown) {
    super(message, { cause });
    this.name = 'JournalError';
    this.code = code;
    this.retryable = retryable;
  }

  /** The error itself if the database did not raise it: a bug is no failed disk. */
  static of(error: unknown, path: string): unknown {
    if (!(error instanceof Database.SqliteError)) return error;
    const retryable = /^SQLITE_(FULL|BUSY|IOERR)/.test(error.code);
    return new JournalError(error.code, `${path}: ${error.message}`, retryable, error);
  }
}
