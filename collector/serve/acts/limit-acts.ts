import { isRate, phaseKeys, rateKeys } from '@setwell/shared-models/condition/proposal';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { LimitApproved } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { aboutOf, recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

export interface LimitActParts extends RecordedActParts {
  plant: Plant;
}

/** The plant file's own bounds. */
const mostRate = 1000;

const approvedSchema = z.strictObject({
  station: z.string().min(1).max(120),
  key: z.enum([...rateKeys, ...phaseKeys]),
  value: z.number().min(-200).max(10_000),
  cycles: z.number().int().positive(),
  seen: z.number(),
});

/** A limit that the plant's own data propose is taken over. @throws ActRefused */
export function limitAct(act: GivenAct, parts: LimitActParts): Entry {
  const body = parsed(approvedSchema, act.body);
  const { key, value, seen } = body;
  const station = parts.plant.stations.find(({ id }) => id === body.station);
  if (station === undefined) throw refused('body.station', body.station, 'a station of the plant');
  if (isRate(key)) {
    // A narrower one would make gaps look surer than the plant itself has shown them to be.
    if (value < seen)
      throw refused('body.value', String(value), `at least ${seen}, which was seen`);
    if (value > mostRate) throw refused('body.value', String(value), `at most ${mostRate} K/min`);
  }
  const now = parts.fold.limits.newest(station.id, key)?.value;
  const was = now ?? (isRate(key) ? station[key] : null);
  const approved: LimitApproved = { ...body, was };
  return recorded(act, parts, { station: station.id, ...aboutOf(act) }, approved);
}
