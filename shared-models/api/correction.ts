import { z } from 'zod';

const name = z.string().min(1).max(120);
const mark = z.strictObject({ earliestMs: z.number().int(), latestMs: z.number().int() });

/** What a person puts right of a load; the rest is taking it back, which has a way of its own. */
export const corrections = [
  z.strictObject({
    what: z.literal('marks'),
    marks: z.strictObject({
      contact: mark.optional(),
      pressureOn: mark.optional(),
      releaseStart: mark.optional(),
      open: mark.optional(),
    }),
    endMs: z.number().int().nullable().default(null),
  }),
  /** `id` or `id@revision`. */
  z.strictObject({ what: z.literal('recipe'), recipe: name }),
  z.strictObject({ what: z.literal('lot'), lot: name, parts: z.array(name).max(1000).default([]) }),
  z.strictObject({ what: z.literal('readings') }),
] as const;
