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
/** Who on the box asked for it, as the machine names him. */
const offeredSchema = z.strictObject({ user: z.string().min(1).max(120) });

const schemas = {
  'person-granted': grantedSchema,
  'person-revoked': revokedSchema,
  'setup-offered': offeredSchema,
};

/**
 * Somebody was let in or out, or the box was asked for a code that lets an administrator in; the record
 * keeps the number, never the name.
 *
 * @throws ActRefused
 */
export function admit(
  act: GivenAct & { kind: keyof typeof schemas },
  parts: RecordedActParts,
): Entry {
  return recorded(act, parts, {}, parsed<object>(schemas[act.kind], act.body));
}
