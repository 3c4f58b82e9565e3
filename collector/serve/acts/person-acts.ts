import type { Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed } from './refused.ts';

const person = z.string().regex(/^p-\d{1,6}$/);
const grantedSchema = z.strictObject({
  person,
  jobs: z.array(z.string().min(1).max(40)).min(1).max(10),
  halls: z.array(z.string().min(1).max(120)).max(100).nullable(),
  endsMs: z.number().int().positive().nullable(),
});
const revokedSchema = z.strictObject({ person });

/** Somebody was let in or out; the record keeps the number, never the name. @throws ActRefused */
export function admit(act: GivenAct, parts: RecordedActParts): Entry {
  const schema = act.kind === 'person-granted' ? grantedSchema : revokedSchema;
  return recorded(act, parts, {}, parsed<object>(schema, act.body));
}
