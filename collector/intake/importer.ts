import type { ImportAnswer, ImportCounts, ImportedRow } from '@setwell/shared-models/api/import';
import { isPlantTime, timeExpected } from '@setwell/shared-models/plant/payload-fault';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Clock } from '../clock.ts';
import type { Appended, Journal, StoredReject } from '../journal/journal.ts';
import type { JournalReader, Reading } from '../journal/shape.ts';
import { aheadAfterMs, lateAfterMs, type Intake } from './intake.ts';

/** Rejects looked at in one go; more than a batch's worth of readings comes of few of them. */
const rejectsAtOnce = 200;

/** Said of a message for which these are reasons, it would be refused again, or is stored already. */
const notAgain = new Set([
  'ahead',
  'not-live',
  'oversize',
  'not-text',
  'reserved-topic',
  'not-allowed',
]);

export interface ImporterParts {
  plant: Plant;
  journal: Pick<Journal, 'keptFromMs'>;
  reader: Pick<JournalReader, 'rejectsAfter'>;
  clock: Clock;
}

/**
 * The door for readings that no broker brings: a logger's file, and messages that were set aside and can
 * be read now. They go the way of all readings, with the name of who brought them.
 */
export class Importer {
  readonly #intake: Intake;
  readonly #parts: ImporterParts;

  constructor(intake: Intake, parts: ImporterParts) {
    this.#intake = intake;
    this.#parts = parts;
  }

  /** On the disk when it returns; what is refused is told by its place. @throws JournalError */
  readings(by: string, rows: readonly ImportedRow[]): ImportAnswer {
    const receivedMs = this.#parts.clock.nowMs();
    const items: Reading[] = [];
    const refusals: ImportAnswer['refusals'] = [];
    rows.forEach((row, index) => {
      const fault = this.#faultOf(row, receivedMs);
      if (fault) refusals.push({ index, ...fault });
      else items.push(readingOf(row, receivedMs));
    });
    const appended = this.#intake.store({ receivedMs, items, rejects: [], by });
    return { ...countsOf(appended), refused: refusals.length, refusals };
  }

  /** Tries the rejects once more, as of when they came; what is taken now is no reject any more. */
  rejects(by: string): ImportCounts {
    const counts: ImportCounts = { taken: 0, duplicate: 0, conflict: 0, refused: 0 };
    for (let after = 0; ;) {
      const rejects = this.#parts.reader.rejectsAfter(after, rejectsAtOnce);
      for (const reject of rejects) {
        const { taken, duplicate, conflict, refused } = this.#again(by, reject);
        counts.taken += taken;
        counts.duplicate += duplicate;
        counts.conflict += conflict;
        counts.refused += refused;
        after = reject.id;
      }
      if (rejects.length < rejectsAtOnce) return counts;
    }
  }

  #again(by: string, reject: StoredReject): ImportCounts {
    const none = { taken: 0, duplicate: 0, conflict: 0, refused: 1 };
    if (notAgain.has(reject.code) || !reject.isWhole) return none;
    const { topic, payload, receivedMs } = reject;
    // Whether it had waited in the broker is not known any more: without a time of its own it has none.
    const arrival = { topic, payload, retained: false, queued: true, act: null };
    const { items, faults } = this.#intake.decode(arrival, receivedMs);
    if (items.length === 0) return none;
    const settled = faults.length === 0 ? [reject.id] : [];
    const batch = { receivedMs: this.#parts.clock.nowMs(), items, rejects: [], by, settled };
    return { ...countsOf(this.#intake.store(batch)), refused: faults.length };
  }

  #faultOf({ point, t, v }: ImportedRow, nowMs: number) {
    const { plant, journal } = this.#parts;
    if (!plant.sensors.has(point)) {
      return refusal('unknown-point', 'point', point, 'a point of plant.yaml');
    }
    if (!Number.isFinite(v)) return refusal('not-a-number', 'value', String(v), 'a number');
    if (!Number.isSafeInteger(t) || !isPlantTime(t)) {
      return refusal('not-a-time', 'time', String(t), timeExpected);
    }
    const written = new Date(t).toISOString();
    if (t > nowMs + aheadAfterMs) {
      return refusal('ahead', 'time', written, `not after now, ${new Date(nowMs).toISOString()}`);
    }
    const keptFromMs = journal.keptFromMs(point);
    if (t >= keptFromMs) return null;
    const kept = new Date(keptFromMs).toISOString();
    return refusal('too-old', 'time', written, `not before ${kept}: older ones are dropped here`);
  }
}

function refusal(code: string, field: string, found: string, expected: string) {
  return { code, field, found: found.slice(0, 200), expected };
}

function readingOf({ point, t, v, seq }: ImportedRow, receivedMs: number): Reading {
  return {
    point,
    t,
    v: v + 0,
    quality: t < receivedMs - lateAfterMs ? 'late' : 'good',
    deviceSeq: seq ?? null,
    stamped: false,
    ahead: false,
  };
}

function countsOf({ places, duplicates, conflicts }: Appended): ImportCounts {
  const stored = places.filter((place) => place !== null).length;
  return { taken: stored - conflicts, duplicate: duplicates, conflict: conflicts, refused: 0 };
}
