import type { RepairEvidence } from '@setwell/shared-models/condition/repair';
import type { WorkEvidence } from '@setwell/shared-models/condition/station-report';
import type { Plant } from '@setwell/shared-models/plant/plant';
import { workKinds, type WorkClosed } from '@setwell/shared-models/record/bodies';
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
  /** What cycles and surveys after it say of a job; null: no such job at this station. */
  evidenceOf(station: string, work: string): WorkEvidence | null;
}

/** Comparisons that an entry keeps: the ones that say something first. */
const mostRests = 12;

/** Work planned, done or closed at a station. @throws ActRefused */
export function workAct(act: GivenAct, parts: WorkActParts): Entry {
  if (act.kind === 'work-closed') {
    const body = parsed(closedSchema, act.body);
    if (body.evidence === 'not-proven' && body.note.trim() === '') {
      throw refused('body.note', 'none', 'why it is closed without evidence');
    }
    const { station = '' } = act.about;
    const evidence = parts.evidenceOf(station, body.work);
    if (evidence === null) {
      throw refused('body.work', body.work, `a job that was planned or done at "${station}"`);
    }
    if (body.evidence === 'proven' && evidence.says !== 'proven') {
      const found = `proven, while cycles and surveys after it say ${evidence.says ?? 'nothing'}`;
      throw refused('body.evidence', found, 'not-proven, with the reason');
    }
    const order = (each: RepairEvidence) => Number(each.says === 'same' || each.says === 'wait');
    const cycles = [...evidence.evidence].sort((a, b) => order(a) - order(b)).slice(0, mostRests);
    const closed: WorkClosed = {
      ...body,
      rests: { cycles: cycles.map(finite), survey: evidence.survey },
    };
    return recorded(act, parts, { ...aboutOf(act), work: body.work }, closed);
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

/** An entry holds no endless number: while too little came after it, the interval is not known. */
function finite(evidence: RepairEvidence): RepairEvidence {
  const { low, high } = evidence;
  return Number.isFinite(low) && Number.isFinite(high)
    ? evidence
    : { ...evidence, low: 0, high: 0 };
}
