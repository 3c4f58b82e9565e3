import { cutText } from '@setwell/shared-models/record/well-formed';
import { fittedAt } from '@setwell/shared-models/metrology/fitting';
import type { Plant } from '@setwell/shared-models/plant/plant';
import { instrumentSchema, type Instrument } from '@setwell/shared-models/plant/plant-schema';
import { tellCalibrations } from '@setwell/shared-models/plant/sensor-findings';
import type {
  InstrumentFitted,
  InstrumentRemoved,
  JournalPlace,
} from '@setwell/shared-models/record/bodies';
import { z } from 'zod';
import type { StationEvent } from '../journal/shape.ts';
import { untimely, type Refusal } from './admission.ts';
import type { Fittings } from './fittings.ts';

const name = z.string().min(1).max(120);

const proofSchema = z.strictObject({
  how: z.enum(['warmed-by-hand', 'pulled', 'continuity', 'other']),
  note: z.string().max(500).default(''),
});

/** What a payload says beside its time. Others' members are ignored, as in any MQTT payload. */
const fittedSchema = z.object({
  point: name,
  /** The name of one that is known, or all that is to be known of a new one. */
  instrument: z.union([name, instrumentSchema]),
  proof: proofSchema.nullable().default(null),
});

const removedSchema = z.object({ point: name, reason: z.string().max(500).default('') });

export type FittingAdmission =
  | { answer: 'fitted'; body: InstrumentFitted }
  | { answer: 'removed'; body: InstrumentRemoved }
  | { answer: 'refused'; refusal: Refusal };

/** Whether an instrument is put in, or taken out, as the event says. */
export function admitFitting(
  event: StationEvent,
  place: JournalPlace,
  receivedMs: number,
  plant: Plant,
  fittings: Fittings,
): FittingAdmission {
  const late = untimely(event, receivedMs);
  if (late !== null) return { answer: 'refused', refusal: late };
  const schema = event.event === 'instrument-fitted' ? fittedSchema : removedSchema;
  const said = schema.safeParse(event.more);
  if (!said.success) {
    const [issue] = said.error.issues;
    return refuse(issue?.path.join('.') ?? '', 'wrong-shape', 'something else', issue?.message);
  }
  const { point } = said.data;
  const sensor = plant.sensors.get(point);
  if (sensor?.station !== event.station) {
    const known = [...plant.sensors.values()].filter(({ station }) => station === event.station);
    const expected = `a point of ${event.station}: ${known.map(({ id }) => id).join(', ')}`;
    return refuse('point', 'unknown-point', point, expected);
  }
  const there = fittings.of(plant);
  const common = { point, atMs: event.latestMs, event: place, act: event.act };
  if ('reason' in said.data) {
    const was = fittedAt(there.get(point), event.latestMs);
    if (was === null) return refuse('point', 'not-fitted', `nothing at ${point}`, 'an instrument');
    const { reason } = said.data;
    return { answer: 'removed', body: { ...common, instrument: was.instrument.id, reason } };
  }
  const instrument = instrumentOf(said.data.instrument, plant, fittings);
  if ('answer' in instrument) return instrument;
  return { answer: 'fitted', body: { ...common, instrument, proof: said.data.proof } };
}

/** One that is known by its name, or a new one whose certificates hold together. */
function instrumentOf(
  given: string | Instrument,
  plant: Plant,
  fittings: Fittings,
): Instrument | FittingAdmission {
  if (typeof given === 'string') {
    const fitted = [...fittings.of(plant).values()].flat();
    const known =
      plant.instruments.get(given) ??
      fitted.find(({ instrument }) => instrument.id === given)?.instrument;
    if (known !== undefined) return known;
    return refuse('instrument', 'unknown-instrument', given, 'one that is known, or its whole');
  }
  let wrong: FittingAdmission | null = null;
  tellCalibrations(given.calibrations, ['instrument', 'calibrations'], (path, finding) => {
    wrong ??= refuse(path.join('.'), 'wrong-shape', finding.found, finding.expected);
  });
  return wrong ?? given;
}

function refuse(
  field: string,
  code: Refusal['code'],
  found: string,
  expected = 'another value',
): FittingAdmission {
  const refusal = { field, code, found: cutText(found, 200), expected: cutText(expected, 1000) };
  return { answer: 'refused', refusal };
}
