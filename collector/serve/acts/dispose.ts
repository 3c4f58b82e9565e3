import type { Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { aboutOf, answered, recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

const dispositionSchema = z.looseObject({
  decision: z.enum(['hold', 'release', 'extend', 're-press', 'rework', 'scrap', 'concession']),
  reason: z.string().min(1).max(1000),
  onRevision: z.number().int().positive().optional(),
});

/** What people decide of a load or a lot. @throws ActRefused */
export function dispose(act: GivenAct, parts: RecordedActParts): Entry {
  if (act.about.load === undefined && act.about.lots === undefined) {
    throw refused('about.load', 'none', 'the load, or the lots');
  }
  answered(act, parts.ledger);
  return recorded(act, parts, aboutOf(act), parsed(dispositionSchema, act.body));
}
