import type { Request, RequestHandler } from 'express';
import { z } from 'zod';
import { operation, type Operation } from '../operation.ts';
import { Problem } from '../problem.ts';
import { devicesAtMost } from './people-db.ts';
import { newCode, newToken } from './secrets.ts';
import type { SignInParts } from './sign-in-operations.ts';

/** A wall shows its code so long, then a new one [ms]. */
const codeHoldsMs = 10 * 60_000;
/** Walls that show a code at once. */
const waitingAtMost = 100;
const pairedForMs = 400 * 24 * 3_600_000;
const digits = 6;

interface Waiting {
  code: string;
  from: string;
  untilMs: number;
  /** Set when somebody has typed the code: the wall takes it once. */
  token: string | null;
}

const hall = z.string().min(1).max(120);
const deviceName = z.string().trim().min(1).max(60);

/** Walls that read one hall, and programs that hold a token. */
export function deviceOperations(parts: SignInParts, guards: RequestHandler[]): Operation[] {
  // Longer than the limit because it is a table: one act after the other, each whole.
  const { db, who, nowMs } = parts;
  const waiting = new Map<string, Waiting>();
  const add = (kind: 'screen' | 'token', name: string, place: string | null, scopes: string[]) => {
    if (db.devices().length >= devicesAtMost) throw new Problem(409, 'full', 'Too many devices.');
    const { token, digest } = newToken();
    return { token, device: db.addDevice({ kind, name, hall: place, scopes }, digest) };
  };
  return [
    operation({
      method: 'get',
      path: '/pairing',
      summary: 'A wall asks for its code, again and again until somebody has typed it',
      query: z.strictObject({ wall: z.uuid() }),
      answer: 'code, or paired',
      handle: ({ query, raw }, response) => {
        const mine =
          alive(waiting.get(query.wall), nowMs()) ?? begun(waiting, query.wall, raw, nowMs());
        if (mine.token === null) return { code: mine.code, paired: false };
        waiting.delete(query.wall);
        who.keep(response, 'full', mine.token, pairedForMs);
        return { code: null, paired: true };
      },
    }),
    operation({
      method: 'get',
      path: '/devices',
      summary: 'Walls and tokens, and when each was last seen',
      answer: 'devices',
      handle: () => ({ devices: db.devices() }),
    }),
    operation({
      method: 'post',
      path: '/devices/pair',
      summary: 'The code that a wall shows: from now on it may look, and nothing else',
      guards,
      body: z.strictObject({
        id: z.uuid().optional(),
        by: z.string().max(60).optional(),
        code: z.string().max(20),
        name: deviceName,
        hall: hall.nullable().default(null),
      }),
      answer: 'the device',
      handle: ({ body }) => {
        const code = body.code.replaceAll(/\D/g, '');
        const found = [...waiting.values()].find(
          (each) => each.code === code && each.token === null && each.untilMs > nowMs(),
        );
        if (!found)
          throw new Problem(404, 'not-found', 'No wall shows this code now.', { field: 'code' });
        const { token, device } = add('screen', body.name, body.hall, ['open', 'look']);
        found.token = token;
        return { device };
      },
    }),
    operation({
      method: 'post',
      path: '/devices/token',
      summary: 'A token for a program; it is shown this once',
      guards,
      body: z.strictObject({
        id: z.uuid().optional(),
        by: z.string().max(60).optional(),
        name: deviceName,
        scopes: z
          .array(z.enum(['look', 'audit', 'floor']))
          .min(1)
          .max(3),
      }),
      answer: 'the device and its token',
      handle: ({ body }) => {
        const { token, device } = add('token', body.name, null, ['open', ...body.scopes]);
        return { token, device };
      },
    }),
    operation({
      method: 'post',
      path: '/devices/{id}/revoke',
      summary: 'A wall or token is let out',
      guards,
      body: z.strictObject({ id: z.uuid().optional(), by: z.string().max(60).optional() }),
      answer: 'nothing',
      handle: ({ params }) => {
        if (!db.revokeDevice(params['id'] ?? '', nowMs())) {
          throw new Problem(404, 'not-found', `No device "${params['id'] ?? ''}" is known.`);
        }
        return {};
      },
    }),
  ];
}

function alive(found: Waiting | undefined, nowMs: number): Waiting | null {
  return found !== undefined && found.untilMs > nowMs ? found : null;
}

function begun(
  waiting: Map<string, Waiting>,
  wall: string,
  request: Request,
  nowMs: number,
): Waiting {
  for (const [id, { untilMs }] of waiting) if (untilMs <= nowMs) waiting.delete(id);
  if (waiting.size >= waitingAtMost) {
    throw new Problem(429, 'too-many', 'Too many walls ask for a code; try again in ten minutes.');
  }
  const from = request.socket.remoteAddress ?? '';
  const mine = { code: newCode(digits), from, untilMs: nowMs + codeHoldsMs, token: null };
  waiting.set(wall, mine);
  return mine;
}
