import type { Plant } from '../plant/plant.ts';
import type { Calibration, Instrument } from '../plant/plant-schema.ts';
import type { InstrumentActs, KnownCalibration } from './instrument-acts.ts';

/** An instrument at a point, from when to when. */
export interface Fitting {
  point: string;
  instrument: Instrument;
  /** Certificates that came in since, beside those it was fitted with. */
  made: readonly KnownCalibration[];
  /** Inclusive [ms]; −Infinity: since ever. */
  fromMs: number;
  /** Exclusive [ms]; Infinity: still. */
  toMs: number;
  /** Whether its wire was proven to end there. */
  proven: boolean;
}

interface Change {
  atMs: number;
  point: string;
  /** Null: taken out. */
  instrument: Instrument | null;
  proven: boolean;
}

/**
 * What was fitted at each point through time, by the plant file and by what people did since.
 *
 * Fitting an instrument ends what was at that point, and where that instrument was before: it can be at
 * one place only. The file's entries and people's are one history, in time; at equal times the ledger's
 * count after the file's, in their order.
 */
export function fittingsOf(plant: Plant, acts: InstrumentActs): Map<string, Fitting[]> {
  const changes = [...fileChanges(plant), ...actChanges(acts)];
  const order = new Map(changes.map((change, index) => [change, index]));
  changes.sort((a, b) =>
    a.atMs === b.atMs ? order.get(a)! - order.get(b)! : a.atMs < b.atMs ? -1 : 1,
  );
  const history = new Map<string, Fitting[]>();
  const whereIs = new Map<string, Fitting>();
  for (const { atMs, point, instrument, proven } of changes) {
    const own = history.get(point) ?? [];
    history.set(point, own);
    end(own.at(-1), atMs);
    if (instrument === null) continue;
    end(whereIs.get(instrument.id), atMs);
    const fitting: Fitting = {
      point,
      instrument,
      made: acts.calibrations.get(instrument.id) ?? [],
      fromMs: atMs,
      toMs: Infinity,
      proven,
    };
    own.push(fitting);
    whereIs.set(instrument.id, fitting);
  }
  return history;
}

/** The certificates of what was fitted that were known at a time: a later one is for later loads. */
export function calibrationsKnown({ instrument, made }: Fitting, atMs: number): Calibration[] {
  const since = made.filter(({ knownMs }) => knownMs <= atMs);
  return [...instrument.calibrations, ...since.map(({ calibration }) => calibration)];
}

/** What was fitted at a time; null: nothing. */
export function fittedAt(fittings: readonly Fitting[] | undefined, atMs: number): Fitting | null {
  return fittings?.find(({ fromMs, toMs }) => atMs >= fromMs && atMs < toMs) ?? null;
}

function end(fitting: Fitting | undefined, atMs: number): void {
  if (fitting !== undefined && fitting.toMs > atMs) fitting.toMs = atMs;
}

function fileChanges({ sensors, instruments, fitted }: Plant): Change[] {
  const named = new Set(fitted.map(({ point }) => point));
  const shorthand = [...sensors.values()].filter(({ id }) => !named.has(id));
  // A sensor is a point with one instrument since ever, and gives it its name.
  const sinceEver = shorthand.map(({ id, element, calibration }): Change => {
    const calibrations = calibration === undefined ? [] : [calibration];
    const instrument = { id, ...(element === undefined ? {} : { element }), calibrations };
    return { atMs: -Infinity, point: id, instrument, proven: true };
  });
  const written = fitted.flatMap(({ point, instrument, fromMs, toMs, wireProven }): Change[] => {
    const found = instruments.get(instrument);
    if (found === undefined) return [];
    const proven = wireProven !== undefined;
    return [
      { atMs: fromMs, point, instrument: found, proven },
      ...(toMs === null ? [] : [{ atMs: toMs, point, instrument: null, proven: false }]),
    ];
  });
  // Out before in at the same time: one leaves as the next comes.
  const isOut = ({ instrument }: Change) => (instrument === null ? 0 : 1);
  return [...sinceEver, ...written.sort((a, b) => a.atMs - b.atMs || isOut(a) - isOut(b))];
}

function actChanges({ fittings }: InstrumentActs): Change[] {
  return fittings.map((act): Change => {
    const { point, atMs } = act;
    return act.kind === 'fitted'
      ? { atMs, point, instrument: act.instrument, proven: act.proven }
      : { atMs, point, instrument: null, proven: false };
  });
}
