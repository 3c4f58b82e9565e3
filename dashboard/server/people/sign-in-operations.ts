import { randomUUID, timingSafeEqual } from 'node:crypto';
import { readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import type { RequestHandler, Response } from 'express';
import { z } from 'zod';
import type { Act } from '@setwell/shared-models/api/collector';
import { rights, type Me, type Person, type WhoIs } from '@setwell/shared-models/api/people';
import type { ActSent } from '../collector-client.ts';
import { operation, type Operation } from '../operation.ts';
import { Problem } from '../problem.ts';
import { demandUncommon } from './common-password.ts';
import type { PeopleDb } from './people-db.ts';
import type { Proving } from './proving.ts';
import { meanings, rightsOfJob } from './rights.ts';
import { digestOf, hashed, isSecret, newCode } from './secrets.ts';
import type { SecurityLog } from './security-log.ts';
import type { SignOn } from './sign-on.ts';
import type { Principal, Who } from './who.ts';

/** A code that is asked for on the box because nobody can sign in any more [ms]. */
const offeredForMs = 60 * 60_000;

export const personName = z.string().trim().min(1).max(60);
/** NIST SP 800-63B: length decides, no rules of composition; longer than anybody types is an attack. */
export const password = z.string().min(12, 'at least 12 characters').max(200);
export const pin = z
  .string()
  .regex(/^\d{4,6}$/, '4 to 6 digits')
  .refine((digits) => !isEasy(digits), 'digits that are neither all the same nor in a row');
const badge = z.string().min(4).max(200);
const meaning = z.enum(meanings);

export interface SignInParts {
  db: PeopleDb;
  who: Who;
  nowMs: () => number;
  isDemo: () => boolean;
  /** Holds the code for the first administrator, until there is one. */
  setupFile: string;
  /** Pages come by TLS: cookies are kept from anything else. */
  secure: boolean;
  /** Pages are reached without TLS from another machine. */
  plainHttp: boolean;
  /** The plant's name, which is no password. */
  site: () => string;
  /** The greatest number of a person that the ledger knows; 0: none yet. */
  lastGranted: () => number;
  /** So long after an account has ended its name is kept [d]; null while the plant is not known. */
  namesKeptD: () => number | null;
  /** The plant's own sign-in service; null where it has none. */
  signOn: SignOn | null;
  proving: Proving;
  log: SecurityLog;
  act: (act: Act) => Promise<ActSent>;
}

/**
 * Writes the code that lets the first administrator in; readable by the box's own user alone. Where somebody
 * administers, one that was asked for on the box stays for its hour.
 *
 * @returns whether a first administrator is waited for
 */
export function offerSetup(parts: Pick<SignInParts, 'db' | 'setupFile' | 'nowMs'>): boolean {
  const { db, setupFile } = parts;
  if (!db.hasAdministrator()) {
    writeFileSync(setupFile, `${newCode(9)}\n`, { mode: 0o600, flag: 'w' });
    return true;
  }
  if (!isOffered(parts)) rmSync(setupFile, { force: true });
  return false;
}

/** Signing in and out, by password for an hour's work, by badge or PIN for one act. */
export function signInOperations(parts: SignInParts, guards: RequestHandler[]): Operation[] {
  // Longer than the limit because it is a table: one way in after the other, each whole.
  const { db, who, proving, log } = parts;
  const inside = (person: Person, kind: 'full' | 'hand', response: Response) => {
    who.begin(response, person, kind);
    return { id: person.id, name: person.name, jobs: person.jobs };
  };
  return [
    operation({
      method: 'get',
      path: '/me',
      summary: 'Who the server takes this browser for, and what he may do',
      answer: 'mode, person or device, rights',
      handle: ({ principal }) => meOf(principal, parts),
    }),
    operation({
      method: 'get',
      path: '/who',
      summary:
        'Who stands behind a number: the jobs for every screen, names for those who may read them',
      answer: 'jobs and, with the right "audit", the name of each number',
      handle: ({ principal }): WhoIs => {
        const named = meOf(principal, parts).rights.includes('audit');
        return Object.fromEntries(
          db.people().map(({ id, jobs, name }) => [id, { jobs, name: named ? name : null }]),
        );
      },
    }),
    operation({
      method: 'post',
      path: '/setup',
      summary: 'An administrator, by the code that the terminal shows once',
      guards,
      body: z.strictObject({ code: z.string().max(40), name: personName, password }),
      answer: 'the person',
      handle: async ({ body, raw }, response) => {
        if (parts.isDemo() || !isOffered(parts)) {
          throw new Problem(409, 'moved-on', 'There is an administrator already.');
        }
        await proving.tried('setup', raw, 'setup', async () =>
          isSetupCode(body.code, parts.setupFile) ? founder : null,
        );
        demandUncommon(body.password, [body.name, parts.site()]);
        const known = db.named(body.name);
        if (known !== null && !known.jobs.includes('administrator')) {
          throw new Problem(409, 'taken', `"${body.name}" is here already.`, { field: 'name' });
        }
        const person: Person = known ?? {
          ...founder,
          id: db.nextId(parts.lastGranted()),
          name: body.name,
        };
        const secret = await hashed(body.password);
        await parts.act(granted(person, person.id, randomUUID()));
        db.put(person, { password: secret });
        db.endAllOf(person.id);
        rmSync(parts.setupFile, { force: true });
        return inside(person, 'full', response);
      },
    }),
    operation({
      method: 'post',
      path: '/sign-in',
      summary:
        'Name and password, until the browser is closed or nobody presses anything for half an hour',
      guards,
      body: z.strictObject({ name: personName, password: z.string().min(1).max(200) }),
      answer: 'the person',
      handle: async ({ body, raw }, response) => {
        const person = await proving.tried('sign-in', raw, body.name, async () => {
          const found = db.named(body.name);
          return (await isSecret(body.password, found?.password ?? null)) ? found : null;
        });
        return inside(person, 'full', response);
      },
    }),
    operation({
      method: 'post',
      path: '/identify',
      summary: 'A badge, or name and PIN: for the one act that follows',
      guards,
      body: z.strictObject({
        badge: badge.optional(),
        name: personName.optional(),
        pin: z.string().max(12).optional(),
      }),
      answer: 'the person',
      handle: async ({ body, raw }, response) => {
        const person = await proving.tried('identify', raw, body.name ?? null, async () => {
          if (body.badge !== undefined) return db.byBadge(digestOf(body.badge));
          const found = db.named(body.name ?? '');
          return (await isSecret(body.pin ?? '', found?.pin ?? null)) ? found : null;
        });
        return inside(person, 'hand', response);
      },
    }),
    operation({
      method: 'post',
      path: '/sign',
      summary: 'The password again, with what the act means: for one release, approval or grant',
      guards,
      body: z.strictObject({ password: z.string().min(1).max(200), meaning }),
      answer: 'until when it holds',
      handle: async ({ body, raw, principal }) => {
        if (principal.kind !== 'person' || principal.session.kind !== 'full') {
          throw new Problem(401, 'who', 'Sign in with your password first.');
        }
        const { id, name } = principal.person;
        await proving.tried('sign', raw, name, async () => {
          const stored = db.secrets(id)?.password ?? null;
          return (await isSecret(body.password, stored)) ? principal.person : null;
        });
        db.sign(principal.digest, parts.nowMs(), body.meaning);
        return { meaning: body.meaning };
      },
    }),
    operation({
      method: 'post',
      path: '/me/here',
      summary: 'Somebody has pressed something at this browser: his sign-in does not rest',
      guards,
      body: z.strictObject({}),
      answer: 'nothing',
      handle: () => ({}),
    }),
    operation({
      method: 'post',
      path: '/sign-out',
      summary: 'This browser is nobody again',
      guards,
      body: z.strictObject({}),
      answer: 'nothing',
      handle: ({ principal, raw }, response) => {
        if (principal.kind === 'person') log.note('sign-out', principal.person.id, raw);
        who.end(principal, response);
        return {};
      },
    }),
  ];
}

const founder: Person = {
  id: '',
  name: '',
  jobs: ['administrator'],
  halls: null,
  endsMs: null,
  revokedMs: null,
};

/** The grant as the ledger keeps it: the number and the jobs, never the name. */
export function granted(person: Person, by: string, id: string): Act {
  const { jobs, halls, endsMs } = person;
  const body = { person: person.id, jobs, halls, endsMs };
  return { id, kind: 'person-granted', by, about: {}, body };
}

/** While nobody may administer, and for an hour after somebody on the box has asked for a code. */
function isOffered({
  db,
  setupFile,
  nowMs,
}: Pick<SignInParts, 'db' | 'setupFile' | 'nowMs'>): boolean {
  if (!db.hasAdministrator()) return true;
  try {
    return Math.abs(nowMs() - statSync(setupFile).mtimeMs) < offeredForMs;
  } catch {
    return false;
  }
}

function meOf(principal: Principal, { db, plainHttp, signOn }: SignInParts): Me {
  const mode = principal.kind === 'demo' ? 'demo' : db.hasAdministrator() ? 'people' : 'founder';
  const me = { mode, hall: null, plainHttp, signOn: signOn?.name ?? null } as const;
  switch (principal.kind) {
    case 'person': {
      const { person, session } = principal;
      const may = rights.filter((right) =>
        person.jobs.some((job) => rightsOfJob[job].includes(right)),
      );
      const { id, name, jobs } = person;
      return { ...me, who: { id, name, jobs, kind: session.kind }, rights: may };
    }
    case 'device': {
      const { id, name, kind, hall, scopes } = principal.device;
      const may = rights.filter((right) => scopes.includes(right));
      return { ...me, hall, who: { id, name, jobs: [], kind }, rights: may };
    }
    default:
      return { ...me, who: null, rights: principal.kind === 'anyone' ? ['open'] : [...rights] };
  }
}

function isSetupCode(given: string, file: string): boolean {
  let stored: string;
  try {
    stored = readFileSync(file, 'utf8').trim();
  } catch {
    return false;
  }
  const digits = Buffer.from(
    given.replaceAll(/\D/g, '').padEnd(stored.length).slice(0, stored.length),
  );
  return stored.length > 0 && timingSafeEqual(digits, Buffer.from(stored));
}

function isEasy(digits: string): boolean {
  const steps = [...digits].slice(1).map((digit, i) => Number(digit) - Number(digits[i]));
  return steps.every((step) => step === steps[0] && Math.abs(step) <= 1);
}
