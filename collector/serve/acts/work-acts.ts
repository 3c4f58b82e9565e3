import type { Plant } from '@setwell/shared-models/plant/plant';
import { workKinds } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { aboutOf, recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

const what = z.enum(workKinds);
const name = z.string().min(1).max(120);
const job = {
  work: name,
  station: name,
  points: z.array(name).max(200),
  what,
  note: z.string().max(1000).default(''),
};

const plannedSchema = z.strictObject({ ...job, because: z.string().max(1000).default('') });
const doneSchema = z.strictObject({ ...job, doneMs: z.number().int().nonnegative() });
const closedSchema = z.strictObject({
  work: name,
  evidence: z.enum(['proven', 'not-proven']),
  note: z.string().max(1000).default(''),
});

/** A clock may be this far ahead of ours before what it says is not believed [ms]. */
const aheadMs = 10_000;

export interface WorkActParts extends RecordedActParts {
  plant: Plant;
}

/** Work planned, done or closed at a station. @throws ActRefused */
export function workAct(act: GivenAct, parts: WorkActParts): Entry {
  if (act.kind === 'work-closed') {
    const body = parsed(closedSchema, act.body);
    if (body.evidence === 'not-proven' && body.note.trim() === '') {
      throw refused('body.note', 'none', 'why it is closed without evidence');
    }
    return recorded(act, parts, { ...aboutOf(act), work: body.work }, body);
  }
  const schema = act.kind === 'work-done' ? doneSchema : plannedSchema;
  const body = parsed<z.infer<typeof plannedSchema> | z.infer<typeof doneSchema>>(schema, act.body);
  const station = parts.plant.stations.find(({ id }) => id === body.station);
  if (!station) throw refused('body.station', body.station, 'a station of the plant');
  const stray = body.points.find((point) => parts.plant.sensors.get(point)?.station !== station.id);
  if (stray !== undefined) throw refused('body.points', stray, `points of ${station.id}`);
  if ('doneMs' in body && body.doneMs > parts.clock.nowMs() + aheadMs) {
    const found = new Date(body.doneMs).toISOString();
    throw refused('body.doneMs', found, 'a time that has been');
  }
  return recorded(act, parts, { station: station.id, work: body.work }, body);
}
