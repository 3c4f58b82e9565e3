import type { Request } from 'express';
import type { PeopleDb } from './people-db.ts';

/**
 * Who signed in, who was refused what, from where: for whoever guards the plant. Kept beside the people,
 * and said on standard error, where the machine's own log takes it further. It holds no secret and no
 * name as typed, for a password is soon typed into the wrong field.
 */
export class SecurityLog {
  readonly #db: PeopleDb;
  readonly #nowMs: () => number;
  readonly #log: (line: string) => void;

  constructor(db: PeopleDb, nowMs: () => number, log: (line: string) => void) {
    this.#db = db;
    this.#nowMs = nowMs;
    this.#log = log;
  }

  /** @param person `p-17`; null where nobody is known to be behind it */
  note(what: string, person: string | null, request: Request): void {
    const ms = this.#nowMs();
    const origin = request.socket.remoteAddress ?? '';
    this.#db.note({ ms, what, person, origin });
    const at = new Date(ms).toISOString();
    this.#log(`security: ${JSON.stringify({ at, what, person, origin })}`);
  }
}
