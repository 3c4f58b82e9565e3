import { actKinds } from '@setwell/shared-models/api/collector';
import { z } from 'zod';

const name = z.string().min(1).max(120);

/** `POST /acts` as it may be written; everything else is refused with its field. */
export const actSchema = z.strictObject({
  id: z.uuid(),
  kind: z.enum(actKinds),
  by: name,
  about: z.strictObject({
    station: name.optional(),
    load: name.optional(),
    startMs: z.number().int().optional(),
    lots: z.array(name).max(100).optional(),
    sensor: name.optional(),
    recipe: name.optional(),
    call: z.string().min(1).max(300).optional(),
    work: name.optional(),
  }),
  body: z.record(z.string().max(60), z.unknown()),
  meaning: z.string().min(1).max(40).optional(),
  on: z.strictObject({ n: z.number().int().nonnegative() }).optional(),
});

export type GivenAct = z.infer<typeof actSchema>;

/** Why an act is not done. */
export interface ActRefusal {
  /** 409: what it answers has moved on; 422: it cannot be done; 503: nothing was recorded. */
  status: 409 | 422 | 503;
  code: string;
  field: string;
  found: string;
  expected: string;
}

export class ActRefused extends Error {
  readonly refusal: ActRefusal;

  constructor(refusal: ActRefusal) {
    super(`${refusal.field}: found ${refusal.found}; expected ${refusal.expected}`);
    this.refusal = refusal;
  }
}
