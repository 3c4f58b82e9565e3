import type { RequestHandler } from 'express';
import { z } from 'zod';
import { operation, type Operation } from '../operation.ts';
import { Problem } from '../problem.ts';
import { demandUncommon } from './common-password.ts';
import { hashed, isSecret } from './secrets.ts';
import { password, type SignInParts } from './sign-in-operations.ts';
import type { Principal } from './who.ts';

/** What a person does with his own account: a new password, and where he is signed in. */
export function ownOperations(parts: SignInParts, guards: RequestHandler[]): Operation[] {
  const { db, nowMs, proving, log } = parts;
  return [
    operation({
      method: 'post',
      path: '/me/password',
      summary: 'One’s own new password, by the one that counts now; all other sign-ins end',
      guards,
      body: z.strictObject({ old: z.string().min(1).max(200), password }),
      answer: 'nothing',
      handle: async ({ body, raw, principal }) => {
        const { person, digest } = signedIn(principal);
        await proving.tried('own-password', raw, person.name, async () => {
          const stored = db.secrets(person.id)?.password ?? null;
          return (await isSecret(body.old, stored)) ? person : null;
        });
        demandUncommon(body.password, [person.name, parts.site()]);
        db.put(person, { password: await hashed(body.password) });
        db.endAllOf(person.id, digest);
        log.note('password-changed', person.id, raw);
        return {};
      },
    }),
    operation({
      method: 'get',
      path: '/me/sign-ins',
      summary: 'Where one is signed in oneself: how, and since when',
      answer: 'sign-ins, newest first',
      handle: ({ principal }) => ({
        signIns: principal.kind === 'person' ? db.sessionsOf(principal.person.id, nowMs()) : [],
      }),
    }),
    operation({
      method: 'post',
      path: '/me/sign-ins/end',
      summary: 'Every sign-in of one’s own ends but this one',
      guards,
      body: z.strictObject({}),
      answer: 'nothing',
      handle: ({ raw, principal }) => {
        const { person, digest } = signedIn(principal);
        db.endAllOf(person.id, digest);
        log.note('others-signed-out', person.id, raw);
        return {};
      },
    }),
  ];
}

/** @throws Problem 401 where nobody is, or by a badge for one act only */
function signedIn(principal: Principal): Extract<Principal, { kind: 'person' }> {
  if (principal.kind === 'person' && principal.session.kind === 'full') return principal;
  throw new Problem(401, 'who', 'Sign in with your password first.');
}
