import { dayOfMs } from '../metrology/calendar-day.ts';
import { calibrationsKnown, fittedAt, type Fitting } from '../metrology/fitting.ts';
import type { InstrumentActs } from '../metrology/instrument-acts.ts';
import type { FallbackApproved } from '../record/bodies.ts';
import { measuresTemperature, type Plant, type TemperatureSensor } from '../plant/plant.ts';
import { scoredSensor } from './scored-sensor.ts';
import type { FittedSensor, ScoredSensor } from './shape.ts';

/** What a point's readings are held against when a load is scored. */
export interface PointFacts {
  plant: Plant;
  acts: InstrumentActs;
  /** Of `fittingsOf(plant, acts)`. */
  fittings: ReadonlyMap<string, Fitting[]>;
  /** Of the station's supply. */
  hottestC: number;
}

/** The time that a load's readings cover. */
export interface LoadTime {
  /** Of the earliest reading that takes part [ms]. */
  readFromMs: number;
  startMs: number;
  /** Infinity while the load is open. */
  endMs: number;
}

/**
 * A point with everything that was fitted there during a load, each with its certificate as of the load's
 * start or of its own fitting, whichever is later; with what stood in for it by approval; and with the
 * spans in which a fault was found in its readings.
 *
 * @returns null where it is no thermometer
 */
export function scoredPoint(point: string, facts: PointFacts, load: LoadTime): ScoredSensor | null {
  const sensor = facts.plant.sensors.get(point);
  if (sensor === undefined || !measuresTemperature(sensor)) return null;
  const fallbacks = facts.acts.fallbacks.get(point) ?? [];
  const [first = null, ...later] = spans(point, facts, load, fallbacks).map(({ fromMs, what }) => ({
    fromMs,
    sensor: fitted(sensor, what, facts, Math.max(fromMs, load.startMs)),
  }));
  const changes = later.filter(
    (change, index) => !isSame(change.sensor, later[index - 1]?.sensor ?? first?.sensor ?? null),
  );
  const doubted = (facts.acts.faults.get(point) ?? [])
    .filter(({ doubts, fromMs, toMs }) => doubts && overlaps(load, fromMs, toMs))
    .map(({ fromMs, toMs, rule }) => ({ fromMs, toMs, rule }));
  const base = first?.sensor ?? null;
  return {
    // Nothing fitted at first: what comes later is named at its time, and nothing before counts.
    ...(base ?? fitted(sensor, nothingKnown(point), facts, load.startMs)!),
    ...(base === null || changes.length > 0
      ? {
          changes: [
            ...(base === null ? [{ fromMs: load.readFromMs, sensor: null }] : []),
            ...changes,
          ],
        }
      : {}),
    ...(doubted.length > 0 ? { doubted } : {}),
  };
}

/** Points whose readings a load needs because they stand in for one of its own. */
export function standIns(point: string, acts: InstrumentActs, load: LoadTime): string[] {
  const own = acts.fallbacks.get(point) ?? [];
  return own
    .filter(({ fromMs, untilMs }) => overlaps(load, fromMs, untilMs))
    .map(({ standsIn }) => standsIn);
}

type What = Fitting | FallbackApproved | null;

/** The parts of a load in which one thing was fitted, or one stood in, throughout. */
function spans(
  point: string,
  { fittings }: PointFacts,
  { readFromMs, endMs }: LoadTime,
  fallbacks: readonly FallbackApproved[],
): { fromMs: number; what: What }[] {
  const own = fittings.get(point) ?? [];
  const ends = [
    ...own.flatMap(({ fromMs, toMs }) => [fromMs, toMs]),
    ...fallbacks.flatMap(({ fromMs, untilMs }) => [fromMs, untilMs]),
  ].filter((atMs) => atMs > readFromMs && atMs < endMs);
  const starts = [...new Set([readFromMs, ...ends])].sort((a, b) => a - b);
  return starts.map((fromMs) => {
    const standing = fallbacks.filter((each) => fromMs >= each.fromMs && fromMs < each.untilMs);
    // The newest approval counts, and any of them before the point's own readings.
    return { fromMs, what: standing.at(-1) ?? fittedAt(own, fromMs) };
  });
}

function fitted(
  sensor: TemperatureSensor,
  what: What,
  facts: PointFacts,
  atMs: number,
): FittedSensor | null {
  if (what === null) return null;
  if ('standsIn' in what) return standingIn(what, facts, atMs);
  const { instrument } = what;
  const there: TemperatureSensor = { ...sensor };
  delete there.element;
  if (instrument.element !== undefined) there.element = instrument.element;
  const { hottestC, plant } = facts;
  const day = dayOfMs(atMs);
  return {
    ...scoredSensor(there, day, hottestC, calibrationsKnown(what, atMs), plant.graceDays),
    instrument: instrument.id,
  };
}

/** Another point's readings, moved by the approved offset and doubted for both. */
function standingIn(
  { standsIn, offsetK, expandedK }: FallbackApproved,
  facts: PointFacts,
  atMs: number,
): FittedSensor | null {
  const other = facts.plant.sensors.get(standsIn);
  if (other === undefined || !measuresTemperature(other)) return null;
  const at = fittedAt(facts.fittings.get(standsIn), atMs);
  const source = fitted(other, at, facts, atMs);
  if (source === null) return null;
  const rows = source.corrections.length > 0 ? source.corrections : [{ atC: 0, correctionK: 0 }];
  return {
    ...source,
    corrections: rows.map(({ atC, correctionK }) => ({ atC, correctionK: correctionK + offsetK })),
    expandedK: Math.sqrt(source.expandedK * source.expandedK + expandedK * expandedK),
    readsFrom: standsIn,
  };
}

function nothingKnown(point: string): Fitting {
  const instrument = { id: point, calibrations: [] };
  return { point, instrument, made: [], fromMs: -Infinity, toMs: Infinity, proven: false };
}

function overlaps(load: LoadTime, fromMs: number, toMs: number | null): boolean {
  return fromMs < load.endMs && (toMs ?? Infinity) >= load.readFromMs;
}

function isSame(a: FittedSensor | null, b: FittedSensor | null): boolean {
  return JSON.stringify(a) === JSON.stringify(b);
}
