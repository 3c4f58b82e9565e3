import { measuresTemperature, type Plant } from '@setwell/shared-models/plant/plant';
import { calibrationSchema, type Calibration } from '@setwell/shared-models/plant/plant-schema';
import { tellCalibrations } from '@setwell/shared-models/plant/sensor-findings';
import type { About, Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { aboutOf, answered, recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

export interface InstrumentActParts extends RecordedActParts {
  plant: Plant;
}

const name = z.string().min(1).max(120);
const reason = z.string().trim().min(1, 'a reason, so that the record says why').max(500);
const atMs = z.number().int().nonnegative();

/** A stand-in is for a repair, not for good [ms]. */
const longestFallbackMs = 92 * 86_400_000;

const calibratedSchema = z.strictObject({ instrument: name, calibration: calibrationSchema });
const withdrawnSchema = z.strictObject({
  point: name,
  untilMs: atMs.nullable().default(null),
  reason,
});
const restoredSchema = z.strictObject({ point: name });
const provenSchema = z.strictObject({
  point: name,
  atMs,
  proof: z.strictObject({
    how: z.enum(['warmed-by-hand', 'pulled', 'continuity', 'other']),
    note: z.string().max(500).default(''),
  }),
});
const fallbackSchema = z.strictObject({
  point: name,
  standsIn: name,
  fromMs: atMs,
  untilMs: atMs,
  offsetK: z.number().min(-100).max(100),
  expandedK: z.number().positive().max(100),
  reason,
});

/** What people do with points and instruments, beside fitting them. @throws ActRefused */
export function instrumentAct(act: GivenAct, parts: InstrumentActParts): Entry {
  answered(act, parts.ledger);
  switch (act.kind) {
    case 'instrument-calibrated': {
      const body = parsed(calibratedSchema, act.body);
      refuseUnsound(body.calibration);
      return recorded(act, parts, aboutOf(act), body);
    }
    case 'point-withdrawn':
      return ofPoint(act, parts, parsed(withdrawnSchema, act.body));
    case 'point-restored':
      return ofPoint(act, parts, parsed(restoredSchema, act.body));
    case 'wire-proven':
      return ofPoint(act, parts, parsed(provenSchema, act.body));
    default:
      return fallback(act, parts);
  }
}

function fallback(act: GivenAct, parts: InstrumentActParts): Entry {
  const body = parsed(fallbackSchema, act.body);
  for (const field of ['point', 'standsIn'] as const) {
    const sensor = parts.plant.sensors.get(body[field]);
    if (sensor === undefined || !measuresTemperature(sensor)) {
      throw refused(`body.${field}`, body[field], 'a thermometer of the plant');
    }
  }
  if (body.point === body.standsIn) {
    throw refused('body.standsIn', body.standsIn, `another point than ${body.point}`);
  }
  const lastsMs = body.untilMs - body.fromMs;
  if (lastsMs <= 0 || lastsMs > longestFallbackMs) {
    const found = new Date(body.untilMs).toISOString();
    throw refused('body.untilMs', found, 'an end after its begin, within three months');
  }
  return ofPoint(act, parts, body);
}

function ofPoint(act: GivenAct, parts: InstrumentActParts, body: { point: string }): Entry {
  const sensor = parts.plant.sensors.get(body.point);
  if (sensor === undefined) throw refused('body.point', body.point, 'a point of the plant');
  const station = sensor.station === null ? {} : { station: sensor.station };
  const about: About = { ...station, ...aboutOf(act), sensor: body.point };
  return recorded(act, parts, about, body);
}

/** A certificate of one point, or whose points do not rise, corrects nothing between. */
function refuseUnsound(calibration: Calibration): void {
  tellCalibrations([calibration], [], (path, { found, expected }) => {
    throw refused(`body.calibration.${path.slice(1).join('.')}`, found, expected);
  });
}
