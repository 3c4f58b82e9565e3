import { statfsSync } from 'node:fs';
import { dirname } from 'node:path';
import { JournalError } from './journal-error.ts';

/**
 * How full the disk is [1]: somebody is called; the oldest readings that nothing needs are dropped;
 * nothing more is stored, and so not acknowledged.
 */
export const spaceLimits = { call: 0.85, drop: 0.92, refuse: 0.97 };

/** A look costs a system call; between two looks at most a few megabytes are written. */
const lookEveryCommits = 64;

/** Share of the disk under a file that is used [1], as an ordinary user sees it. */
export function usedShare(path: string): number {
  const { blocks, bfree, bavail } = statfsSync(dirname(path));
  const used = blocks - bfree;
  return used + bavail === 0 ? 1 : used / (used + bavail);
}

/**
 * Refuses commits before the disk is full: with the last bytes gone neither the ledger nor the
 * database's own clean-up could be written.
 */
export class FreeSpace {
  readonly #path: string;
  readonly #look: (path: string) => number;
  #commits = 0;
  #used = 0;

  constructor(path: string, look: (path: string) => number = usedShare) {
    this.#path = path;
    this.#look = look;
  }

  /** How full the disk is [1], now. */
  used(): number {
    this.#used = this.#look(this.#path);
    return this.#used;
  }

  /** @throws JournalError when nothing more may be stored; it may later */
  assert(): void {
    // While it is refused each try looks, so that the first one after a clean-up succeeds.
    if (this.#commits % lookEveryCommits === 0 || this.#used >= spaceLimits.refuse) {
      this.used();
    }
    this.#commits += 1;
    if (this.#used < spaceLimits.refuse) return;
    const percent = (this.#used * 100).toFixed(1);
    throw new JournalError('disk-full', `${this.#path}: the disk is ${percent} % full`, true);
  }
}
