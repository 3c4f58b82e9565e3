import type { Calibration, Instrument } from '../plant/plant-schema.ts';
import type {
  FallbackApproved,
  FaultFound,
  FaultOver,
  InstrumentCalibrated,
  InstrumentFitted,
  InstrumentRemoved,
  PointWithdrawn,
  WireProven,
} from '../record/bodies.ts';
import type { Entry, EntryKind } from '../record/entry.ts';

/** An instrument put in or taken out by a person, in time. */
export type FittingAct =
  | { kind: 'fitted'; point: string; atMs: number; instrument: Instrument; proven: boolean }
  | { kind: 'removed'; point: string; atMs: number };

/** A certificate, and since when it was known here. */
export interface KnownCalibration {
  calibration: Calibration;
  knownMs: number;
}

/** A span in which a fault was found in a point's readings. */
export interface FoundFault extends FaultFound {
  /** Null while it lasts. */
  toMs: number | null;
}

const kinds: readonly EntryKind[] = [
  ...(['instrument-fitted', 'instrument-removed', 'instrument-calibrated'] as const),
  ...(['point-withdrawn', 'point-restored', 'wire-proven', 'fallback-approved'] as const),
  ...(['fault-found', 'fault-over'] as const),
];

export function isOfInstruments({ kind }: Entry): boolean {
  return kinds.includes(kind);
}

/** What people did with instruments, and what was found in their readings: a fold of the ledger. */
export class InstrumentActs {
  /** In the order of the ledger. */
  readonly fittings: FittingAct[] = [];
  readonly calibrations = new Map<string, KnownCalibration[]>();
  readonly fallbacks = new Map<string, FallbackApproved[]>();
  readonly faults = new Map<string, FoundFault[]>();
  /** Points that are being worked on. */
  readonly withdrawn = new Map<string, PointWithdrawn & { by: string; sinceMs: number }>();
  /** When each point's wire was last proven [ms]. */
  readonly proven = new Map<string, number>();
  /** Changes with every entry that changes what counts. */
  version = 0;

  take({ kind, by, at, body }: Entry): void {
    switch (kind) {
      case 'instrument-fitted': {
        const { point, atMs, instrument, proof } = body as InstrumentFitted;
        this.fittings.push({ kind: 'fitted', point, atMs, instrument, proven: proof !== null });
        if (proof !== null) this.proven.set(point, atMs);
        else this.proven.delete(point);
        break;
      }
      case 'instrument-removed': {
        const { point, atMs } = body as InstrumentRemoved;
        this.fittings.push({ kind: 'removed', point, atMs });
        break;
      }
      case 'instrument-calibrated': {
        const { instrument, calibration } = body as InstrumentCalibrated;
        addTo(this.calibrations, instrument, { calibration, knownMs: at });
        break;
      }
      case 'fallback-approved': {
        const approved = body as FallbackApproved;
        addTo(this.fallbacks, approved.point, approved);
        break;
      }
      case 'fault-found': {
        const found = body as FaultFound;
        addTo(this.faults, found.point, { ...found, toMs: null });
        break;
      }
      case 'fault-over': {
        const { point, rule, fromMs, toMs } = body as FaultOver;
        const fault = this.fault(point, rule, fromMs);
        if (fault !== null) fault.toMs = toMs;
        break;
      }
      case 'point-withdrawn': {
        const withdrawn = body as PointWithdrawn;
        this.withdrawn.set(withdrawn.point, { ...withdrawn, by, sinceMs: at });
        break;
      }
      case 'point-restored':
        this.withdrawn.delete((body as { point: string }).point);
        break;
      case 'wire-proven': {
        const { point, atMs } = body as WireProven;
        this.proven.set(point, atMs);
        break;
      }
      default:
        return;
    }
    this.version += 1;
  }

  /** The fault of a rule that was found to begin then; null: none was. */
  fault(point: string, rule: string, fromMs: number): FoundFault | null {
    const known = this.faults.get(point) ?? [];
    return known.find((each) => each.rule === rule && each.fromMs === fromMs) ?? null;
  }

  /** Faults of a point that last. */
  lasting(point: string): FoundFault[] {
    return (this.faults.get(point) ?? []).filter(({ toMs }) => toMs === null);
  }

  isWithdrawn(point: string, nowMs: number): boolean {
    const untilMs = this.withdrawn.get(point)?.untilMs;
    return untilMs !== undefined && (untilMs === null || untilMs > nowMs);
  }
}

function addTo<T>(lists: Map<string, T[]>, key: string, value: T): void {
  const list = lists.get(key);
  if (list === undefined) lists.set(key, [value]);
  else list.push(value);
}
