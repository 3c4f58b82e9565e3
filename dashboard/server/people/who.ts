import type { Device, Job, Person, Right } from '@setwell/shared-models/api/people';
import { parseCookie, stringifySetCookie } from 'cookie';
import type { Request, Response } from 'express';
import { Problem } from '../problem.ts';
import type { PeopleDb, Session } from './people-db.ts';
import { rightsOfJob, type Meaning } from './rights.ts';
import { digestOf, newToken } from './secrets.ts';

/** A full sign-in ends after so long without an act or any other input of a person [ms]. */
export const idleMs = 30 * 60_000;
/** Prolonged at most so often: each is a write that waits for the disk [ms]. */
const prolongEveryMs = 60_000;
/** And after so long whatever is pressed: a shift and its handover (NIST SP 800-63B, 4.2.3: 12 h) [ms]. */
export const longestMs = 12 * 60 * 60_000;
/** A badge or PIN holds for one act, or for so long [ms]. */
export const handMs = 2 * 60_000;
/** A password given again with a meaning holds so long for the one act it was given for [ms]. */
export const signedMs = 2 * 60_000;
/** A browser keeps its sign-in, or a wall its pairing; a badge for one act stands beside it. */
const cookieOf = { full: 'setwell', hand: 'setwell-hand' } as const;
type CookieKind = keyof typeof cookieOf;

/** Who is at the other end of a request. */
export type Principal =
  | { kind: 'person'; person: Person; session: Session; digest: string }
  | { kind: 'device'; device: Device }
  /** Nobody has been let in yet, and only this machine can reach us. */
  | { kind: 'founder' }
  | { kind: 'demo' }
  | { kind: 'anyone' };

export interface WhoSetting {
  db: PeopleDb;
  isDemo: () => boolean;
  /** The plant lets anybody in its network read. */
  readingIsOpen: () => boolean;
  hallOf: (station: string) => string | null;
  secure: boolean;
  nowMs: () => number;
}

/** What a request asks for. */
export interface Demand {
  right: Right;
  /** What the password has to be given again for; null: for nothing. */
  meaning: Meaning | null;
  /** The one it is about, where it is about one. */
  station: string | null;
  /** On the demo: the job that is looked as. */
  demoJob: string | null;
}

/** Tells who asks, and whether he may. */
export class Who {
  readonly #setting: WhoSetting;

  constructor(setting: WhoSetting) {
    this.#setting = setting;
  }

  of(request: Request): Principal {
    const { db, isDemo } = this.#setting;
    if (isDemo()) return { kind: 'demo' };
    const bearer = /^Bearer ([\w-]{43})$/.exec(request.headers.authorization ?? '')?.[1];
    const cookies = parseCookie(request.headers.cookie ?? '');
    for (const token of [bearer, cookies[this.#named('hand')], cookies[this.#named('full')]]) {
      if (token === undefined || token.length > 100) continue;
      const digest = digestOf(token);
      const found = this.#person(digest) ?? this.#device(digest);
      if (found) return found;
    }
    return db.hasAdministrator() ? { kind: 'anyone' } : { kind: 'founder' };
  }

  /**
   * Refuses who may not.
   *
   * @throws Problem 401 where signing in would help, 403 where it would not
   */
  demand(principal: Principal, { right, meaning, station, demoJob }: Demand): void {
    if (right === 'open') return;
    switch (principal.kind) {
      case 'demo':
        if (demoJob !== null && !rightsOfJob[jobOf(demoJob)].includes(right)) throw mayNot(right);
        return;
      case 'founder':
        if (right === 'administer' || right === 'engineer') throw signInFirst(right);
        return;
      case 'anyone':
        if (right === 'look' && this.#setting.readingIsOpen()) return;
        throw signInFirst(right);
      case 'device':
        if (principal.device.scopes.includes(right)) return;
        throw right === 'look' ? mayNot(right) : signInFirst(right);
      case 'person':
        this.#demandOfPerson(principal, { right, meaning, station });
    }
  }

  /** What asks by itself, as screens do, shows that a wall lives; what a person does, that he is there. */
  heard(principal: Principal, isPressed: boolean): void {
    const { db, nowMs } = this.#setting;
    const now = nowMs();
    if (principal.kind === 'device') {
      const { id, seenMs } = principal.device;
      if (now - (seenMs ?? 0) > 10_000) db.seen(id, now);
    }
    if (principal.kind !== 'person' || !isPressed) return;
    const { digest, session } = principal;
    if (session.kind !== 'full') return;
    const untilMs = Math.min(now + idleMs, session.beganMs + longestMs);
    if (untilMs - session.untilMs >= prolongEveryMs) db.prolong(digest, untilMs);
  }

  /** A cookie of this browser; the secret itself is kept nowhere here. */
  begin(response: Response, person: Person, kind: Session['kind']): void {
    const { db, nowMs } = this.#setting;
    const { token, digest } = newToken();
    const untilMs = nowMs() + (kind === 'full' ? idleMs : handMs);
    db.begin(digest, { person: person.id, kind, untilMs }, nowMs());
    this.keep(response, kind, token, kind === 'full' ? null : handMs);
  }

  /** @param forMs null: until the browser is closed */
  keep(response: Response, kind: CookieKind, token: string, forMs: number | null): void {
    response.append(
      'set-cookie',
      stringifySetCookie({
        name: this.#named(kind),
        value: token,
        httpOnly: true,
        sameSite: 'strict',
        path: '/',
        secure: this.#setting.secure,
        ...(forMs === null ? {} : { maxAge: Math.round(forMs / 1000) }),
      }),
    );
  }

  end(principal: Principal, response: Response): void {
    if (principal.kind === 'person') this.#setting.db.end(principal.digest);
    for (const kind of ['full', 'hand'] as const) this.keep(response, kind, '', 0);
  }

  /** What was done by a badge or a signature counts once. */
  done(principal: Principal, right: Right): void {
    if (principal.kind !== 'person' || right === 'open' || right === 'look') return;
    if (principal.session.kind === 'hand') this.#setting.db.end(principal.digest);
    else this.#setting.db.unsign(principal.digest);
  }

  /** By TLS with the prefix that no neighbour's page can set (RFC 6265bis, 4.1.3.2). */
  #named(kind: CookieKind): string {
    return this.#setting.secure ? `__Host-${cookieOf[kind]}` : cookieOf[kind];
  }

  #demandOfPerson(
    { person, session }: Principal & { kind: 'person' },
    { right, meaning, station }: Omit<Demand, 'demoJob'>,
  ): void {
    const { hallOf, nowMs } = this.#setting;
    if (!person.jobs.some((job) => rightsOfJob[job].includes(right))) throw mayNot(right);
    const hall = station === null ? null : hallOf(station);
    if (
      right !== 'look' &&
      person.halls !== null &&
      hall !== null &&
      !person.halls.includes(hall)
    ) {
      throw new Problem(403, 'other-hall', `This needs a right in ${hall}.`, { right, hall });
    }
    if (meaning === null) return;
    if (session.kind !== 'full') throw signInFirst(right);
    const { signed } = session;
    if (signed?.meaning !== meaning || nowMs() - signed.ms > signedMs) {
      const text = 'Give your password again, with what it means.';
      throw new Problem(401, 'signature', text, { right, meaning });
    }
  }

  #person(digest: string): Principal | null {
    const { db, nowMs } = this.#setting;
    const session = db.session(digest, nowMs());
    const person = session ? db.person(session.person) : null;
    if (!session || !person || !this.#lives(person)) return null;
    return { kind: 'person', person, session, digest };
  }

  #device(digest: string): Principal | null {
    const device = this.#setting.db.deviceBy(digest);
    return device && { kind: 'device', device };
  }

  #lives({ revokedMs, endsMs }: Person): boolean {
    return revokedMs === null && (endsMs === null || endsMs > this.#setting.nowMs());
  }
}

function jobOf(text: string): Job {
  return Object.hasOwn(rightsOfJob, text) ? (text as Job) : 'shift-lead';
}

function mayNot(right: Right): Problem {
  return new Problem(403, 'no-right', `This needs the right "${right}".`, { right });
}

function signInFirst(right: Right): Problem {
  return new Problem(401, 'who', 'Say who you are first.', { right });
}
