import type { LoadNoted } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { aboutKnown, loadOf } from './known-load.ts';
import { recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed } from './refused.ts';

const notedSchema = z.strictObject({ note: z.string().trim().min(1).max(1000) });

/** A person writes down what was seen of a load. @throws ActRefused */
export function note(act: GivenAct, parts: RecordedActParts): Entry {
  const load = loadOf(act, parts.fold);
  const body: LoadNoted = parsed(notedSchema, act.body);
  return recorded(act, parts, aboutKnown(load), body);
}
