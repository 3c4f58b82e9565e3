import type { Request } from 'express';
import type { Person } from '@setwell/shared-models/api/people';
import { Problem } from '../problem.ts';
import { Attempts } from './attempts.ts';
import type { SecurityLog } from './security-log.ts';

/** How somebody proves who he is; the word of the security log. */
export type Proof = 'sign-in' | 'identify' | 'sign' | 'setup' | 'own-password' | 'single-sign-on';

/** Every way in goes through here, so that guessing at one of them slows them all. */
export class Proving {
  readonly #ofName = new Attempts(5);
  // A shared PC is many people; a right try does not clear it, or one's own password would.
  readonly #ofDevice = new Attempts(20);
  readonly #log: SecurityLog;
  readonly #nowMs: () => number;

  constructor(log: SecurityLog, nowMs: () => number) {
    this.#log = log;
    this.#nowMs = nowMs;
  }

  /**
   * @param name what was typed: it counts the tries and is kept nowhere; null where nobody is named, as by a
   *   badge: then the device alone counts, or one worn badge would lock out every other of the plant
   * @throws Problem 429 while it waits, 403 where it was wrong
   */
  async tried(
    proof: Proof,
    request: Request,
    name: string | null,
    check: () => Promise<Person | null>,
  ): Promise<Person> {
    const from = request.socket.remoteAddress ?? '';
    const nowMs = this.#nowMs();
    const waitMs = Math.max(
      name === null ? 0 : this.#ofName.waitMs(name, nowMs),
      this.#ofDevice.waitMs(from, nowMs),
    );
    if (waitMs > 0) {
      this.#log.note(`${proof}-waits`, null, request);
      const seconds = Math.ceil(waitMs / 1000);
      throw new Problem(429, 'wait', `Too many wrong tries: again in ${String(seconds)} s.`, {
        seconds,
      });
    }
    if (name !== null) this.#ofName.begin(name, nowMs);
    this.#ofDevice.begin(from, nowMs);
    const person = await check();
    if (person === null || (person.endsMs !== null && person.endsMs <= nowMs)) {
      this.#log.note(`${proof}-refused`, null, request);
      // One answer for every reason: it must not tell who works here.
      throw new Problem(403, 'not-you', 'Name and secret do not belong together.');
    }
    if (name !== null) this.#ofName.forget(name);
    this.#ofDevice.takeBack(from);
    this.#log.note(proof, person.id === '' ? null : person.id, request);
    return person;
  }
}
