import { mostRowsAtOnce } from '@setwell/shared-models/api/import';
import { z } from 'zod';
import { JournalError } from '../journal/journal-error.ts';
import { Refused } from './refused.ts';
import type { Route } from './route.ts';
import type { Served } from './served.ts';
import { json } from './server.ts';

const by = z.string().min(1).max(120);
const readingsSchema = z.strictObject({
  by,
  readings: z
    .array(
      z.strictObject({
        point: z.string().max(200),
        t: z.number(),
        v: z.number(),
        seq: z.number().int().nonnegative().optional(),
      }),
    )
    .max(mostRowsAtOnce),
});
const rejectsSchema = z.strictObject({ by });

/** Readings that a person brings in, while the collector runs: it alone writes its journal. */
export function importRoutes({ importer }: Served): Route[] {
  return [
    {
      method: 'POST',
      path: '/import/readings',
      answer: (_asked, body) => {
        const { by: person, readings } = parsed(readingsSchema, body);
        const rows = readings.map(({ seq, ...row }) => (seq === undefined ? row : { ...row, seq }));
        return json(stored(() => importer.readings(person, rows)));
      },
    },
    {
      method: 'POST',
      path: '/import/rejects',
      answer: (_asked, body) => {
        const { by: person } = parsed(rejectsSchema, body);
        return json(stored(() => importer.rejects(person)));
      },
    },
  ];
}

function parsed<T>(schema: z.ZodType<T>, body: unknown): T {
  const result = schema.safeParse(body);
  if (result.success) return result.data;
  const [issue] = result.error.issues;
  const field = issue?.path.join('.') ?? '';
  throw new Refused(422, 'bad-input', field, 'something else', issue?.message ?? 'an import');
}

/** A disk that refuses is told as such: nothing of the request is stored, and it may be tried again. */
function stored<T>(store: () => T): T {
  try {
    return store();
  } catch (error) {
    if (!(error instanceof JournalError)) throw error;
    throw new Refused(503, error.code, '', error.message, 'a disk that takes it');
  }
}
