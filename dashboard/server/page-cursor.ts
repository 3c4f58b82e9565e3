import { z } from 'zod';
import { instantMs } from '@setwell/shared-models/plant/instant';
import { Problem } from './problem.ts';

/** Milliseconds since the epoch, or a date and time with its zone (RFC 3339). */
export const timeMs = z.preprocess(
  (text) => (typeof text === 'string' && !/^-?\d+$/.test(text) ? (instantMs(text) ?? text) : text),
  z.coerce.number({ error: 'milliseconds, or a date and time with its zone (RFC 3339)' }).int(),
);

export const pageCursor = z.string().max(400).optional();

/** Where a page ended, in a form that nobody needs to read. */
export function cursorAfter(values: readonly (string | number)[]): string {
  return Buffer.from(JSON.stringify(values)).toString('base64url');
}

/** @throws Problem where it is none of ours */
export function readCursor<T>(cursor: string | undefined, shape: z.ZodType<T>): T | undefined {
  if (cursor === undefined) return undefined;
  try {
    return shape.parse(JSON.parse(Buffer.from(cursor, 'base64url').toString('utf8')));
  } catch {
    throw new Problem(422, 'bad-input', 'query field "cursor": not one of ours', {
      field: 'cursor',
    });
  }
}
