import { parseCookie, stringifySetCookie } from 'cookie';
import type { Request, Response } from 'express';
import { z } from 'zod';
import { operation, type Operation } from '../operation.ts';
import { Problem } from '../problem.ts';
import { digestOf } from './secrets.ts';
import type { SignInParts } from './sign-in-operations.ts';
import { awayForMs, type SignOn } from './sign-on.ts';

/** Lax, for a browser comes back from another site; it binds the way back to this browser and does nothing else. */
const awayCookie = 'setwell-sign-on';
const backPath = '/api/v1/sign-on/back';

/** Signing in by the plant's own service: away and back. */
export function signOnOperations(parts: SignInParts): Operation[] {
  const service = (): SignOn => {
    if (parts.signOn !== null) return parts.signOn;
    throw new Problem(404, 'not-found', 'This plant has no sign-in service of its own.');
  };
  return [
    operation({
      method: 'get',
      path: '/sign-on/begin',
      summary: 'Away to the plant’s own sign-in service',
      answer: 'a redirect to the service',
      handle: async ({ raw }, response) => {
        const at = service();
        const back = `${raw.protocol}://${raw.headers.host ?? ''}${backPath}`;
        const begun = await at.begin(back).catch(() => {
          throw new Problem(503, 'no-service', `${at.name} does not answer; try the password.`);
        });
        keepAway(parts, response, begun.token, awayForMs);
        response.redirect(303, begun.to);
      },
    }),
    operation({
      method: 'get',
      path: '/sign-on/back',
      summary:
        'Back from the plant’s own sign-in service: whoever is known here by it is signed in',
      query: z.object({
        code: z.string().max(4096).optional(),
        state: z.string().max(1024).optional(),
        error: z.string().max(1024).optional(),
      }),
      answer: 'a redirect to the page',
      handle: async ({ raw }, response) => {
        const at = service();
        const token = parseCookie(raw.headers.cookie ?? '')[awayCookie] ?? '';
        keepAway(parts, response, '', 0);
        const person = await cameBack(parts, at, raw, token);
        if (person !== null) parts.who.begin(response, person, 'full');
        response.redirect(303, person === null ? '/settings?sign-on=refused' : '/settings');
      },
    }),
  ];
}

/** Somebody whom an administrator has given this subject; the service alone gives nobody a right. */
async function cameBack(parts: SignInParts, at: SignOn, request: Request, token: string) {
  const query = request.originalUrl.slice(request.originalUrl.indexOf('?') + 1);
  const tried = async () => {
    const subject = token.length > 100 ? null : await at.back(token, query);
    return subject === null ? null : parts.db.bySubject(subject);
  };
  try {
    // Each way back is tried by itself: strangers at the service must not lock everybody out.
    return await parts.proving.tried('single-sign-on', request, digestOf(token), tried);
  } catch (error) {
    if (error instanceof Problem) return null;
    throw error;
  }
}

function keepAway({ secure }: SignInParts, response: Response, token: string, forMs: number) {
  response.append(
    'set-cookie',
    stringifySetCookie({
      name: awayCookie,
      value: token,
      httpOnly: true,
      sameSite: 'lax',
      path: backPath,
      secure,
      maxAge: Math.round(forMs / 1000),
    }),
  );
}
