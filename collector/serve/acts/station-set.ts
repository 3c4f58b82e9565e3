import type { Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

const setSchema = z.strictObject({
  state: z.enum(['in-service', 'out-of-service', 'cleaning', 'planned-stop']),
  reason: z.string().min(1).max(1000),
  untilMs: z.number().int().nullable().default(null),
});
const readSchema = z.strictObject({
  shift: z.string().min(1).max(120).nullable().default(null),
  upToN: z.number().int().min(-1),
  note: z.string().max(500).nullable().default(null),
});

/** A station is taken out of service, or put back. @throws ActRefused */
export function setStation(act: GivenAct, parts: RecordedActParts): Entry {
  const { station } = act.about;
  if (station === undefined || parts.stationOf(station) === null) {
    throw refused('about.station', station ?? 'none', 'a station of plant.yaml', 'unknown-station');
  }
  const body = parsed(setSchema, act.body);
  if (body.untilMs !== null && body.untilMs <= parts.clock.nowMs()) {
    throw refused('body.untilMs', new Date(body.untilMs).toISOString(), 'later than now, or none');
  }
  return recorded(act, parts, { station }, body);
}

/** Somebody has read what the shift before leaves. @throws ActRefused */
export function readHandover(act: GivenAct, parts: RecordedActParts): Entry {
  const body = parsed(readSchema, act.body);
  if (body.upToN >= parts.ledger.size()) {
    throw refused(
      'body.upToN',
      String(body.upToN),
      `an entry before ${String(parts.ledger.size())}`,
    );
  }
  return recorded(act, parts, {}, body);
}
