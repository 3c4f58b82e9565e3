import type { Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { aboutOf, answered, recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

const acknowledgedSchema = z.strictObject({
  note: z.string().max(500).nullable().default(null),
});

/** Somebody has taken a call. @throws ActRefused */
export function acknowledge(act: GivenAct, parts: RecordedActParts): Entry {
  const { call } = act.about;
  if (call === undefined) throw refused('about.call', 'none', 'the call');
  const raised = answered(act, parts.ledger);
  if (raised && raised.about.call !== call) {
    throw refused('on.n', `entry ${String(raised.n)}`, `the entry that raised ${call}`);
  }
  const body = parsed(acknowledgedSchema, act.body);
  return recorded(act, parts, { ...raised?.about, ...aboutOf(act) }, body);
}
