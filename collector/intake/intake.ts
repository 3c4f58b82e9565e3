import { isUtf8 } from 'node:buffer';
import type { ReadingQuality } from '@setwell/shared-models/api/collector';
import { decodeReadings, type DecodedReading } from '@setwell/shared-models/plant/payload';
import type { PayloadFault } from '@setwell/shared-models/plant/payload-fault';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Sensor } from '@setwell/shared-models/plant/plant-schema';
import { decodeEvent } from '@setwell/shared-models/plant/station-event';
import type { JournalPlace } from '@setwell/shared-models/record/bodies';
import type { Clock } from '../clock.ts';
import { isEvent } from '../journal/batch-body.ts';
import type { Appended, Journal, JournalItem, NewBatch, Rejected } from '../journal/journal.ts';
import type { Batch, Reading, StationEvent } from '../journal/shape.ts';
import type { Metrics } from '../metrics.ts';
import { TopicMap, type Target } from './topic-map.ts';
import { Traffic } from './traffic.ts';

/** A message as a bus, or a person's act, hands it over. */
export interface Arrival {
  topic: string;
  payload: Buffer;
  /** Kept by the broker from before: it says what was, not what is. */
  retained: boolean;
  /** It may have waited in the broker: a reading that we would stamp has no known time. */
  queued: boolean;
  /** The act that says it; null for everything that comes over a bus. */
  act: string | null;
  /** Its publisher sent it at QoS 0, so that another one like it may have been lost. */
  atMostOnce?: boolean;
  /** Who sent it, where the bus knows that. */
  client?: string;
}

/** What became of one arrival. */
export interface Outcome {
  /** Where its first new reading or event stands; null where nothing in it was new. */
  place: JournalPlace | null;
  faults: IntakeFault[];
}

/** Where an item of a batch comes from. */
interface Owner {
  outcome: Outcome;
  arrival: Arrival;
}

/** A batch, and the owner of each of its items; none where no message brought it. */
interface Owned {
  batch: NewBatch;
  owners: Owner[];
}

export interface IntakeFault extends Omit<PayloadFault, 'code'> {
  code:
    | PayloadFault['code']
    | 'unknown-topic'
    | 'unknown-station'
    | 'reserved-topic'
    | 'not-allowed'
    | 'oversize'
    | 'not-text'
    | 'too-old'
    | 'ahead'
    | 'not-live';
}

/** Acts come in on topics that no bus subscribes to and no client may publish on. */
export const actTopicPrefix = 'setwell-act/';

export interface IntakeLimits {
  /** A payload with hours of one point's readings fits. */
  payloadBytes: number;
  /** Rows of one commit, so that a reader's step stays short. */
  batchRows: number;
  /** As long as the broker keeps a session: older ones come by `import`, with a person's name. */
  oldestMs: number;
}

export const intakeLimits: IntakeLimits = {
  payloadBytes: 64 * 1024,
  batchRows: 1000,
  oldestMs: 14 * 86_400_000,
};

/** Slower than it was measured: it is scored, and a load it belongs to is folded again. */
export const lateAfterMs = 60_000;

/** Clocks of devices differ by seconds; more than this is a clock that is wrong. */
export const aheadAfterMs = 10_000;

/** A point with a wrong clock is noted once a minute, so that it does not push out other rejects. */
const aheadNoteEveryMs = 60_000;

export interface IntakeParts {
  plant: Plant;
  journal: Pick<Journal, 'appendAll'> & Partial<Pick<Journal, 'keptFromMs'>>;
  /** Newest reading of a point in the journal [ms]; nowhere asked again. */
  newestMs?: (point: string) => number | null;
  clock: Clock;
  metrics?: Metrics;
  limits?: IntakeLimits;
}

/**
 * From messages to the journal. `accept` returns when everything in it is on the disk, as a
 * reading, an event or a reject; only then may anybody acknowledge.
 */
export class Intake {
  readonly topics: TopicMap;
  readonly traffic: Traffic;
  readonly #parts: IntakeParts;
  readonly #limits: IntakeLimits;
  readonly #listeners = new Set<(batch: Batch) => void>();
  readonly #aheadNotedMs = new Map<string, number>();
  /** Newest receipt that was a point's time. */
  readonly #stampedMs = new Map<string, number>();

  constructor(parts: IntakeParts) {
    this.#parts = parts;
    this.#limits = parts.limits ?? intakeLimits;
    this.topics = new TopicMap(parts.plant);
    this.traffic = new Traffic(parts.plant, parts.newestMs ?? (() => null));
  }

  /** Called after each commit that holds something new. The answer unsubscribes. */
  onCommit(listener: (batch: Batch) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /**
   * Decodes and stores what has arrived. More than a batch holds becomes several.
   *
   * @param by who brought them in by hand; absent: they came by themselves
   * @returns one outcome for each arrival, in their order
   * @throws JournalError when the disk refuses: then none of it may be acknowledged
   */
  accept(arrivals: Arrival[], by?: string): Outcome[] {
    const receivedMs = this.#parts.clock.nowMs();
    const outcomes: Outcome[] = [];
    const begin = (): Owned => ({
      batch: { ...newBatch(receivedMs), ...(by && { by }) },
      owners: [],
    });
    let filling = begin();
    const filled: [Owned, ...Owned[]] = [filling];
    for (const arrival of arrivals) {
      const outcome: Outcome = { place: null, faults: [] };
      outcomes.push(outcome);
      const { items, faults } = this.decode(arrival, receivedMs);
      outcome.faults = faults;
      for (const fault of faults) filling.batch.rejects.push(rejectedOf(arrival, fault));
      for (const item of items) {
        if (filling.batch.items.length >= this.#limits.batchRows) {
          filling = begin();
          filled.push(filling);
        }
        if (!isEvent(item) && item.stamped) this.#setApart(item, receivedMs);
        filling.batch.items.push(item);
        filling.owners.push({ outcome, arrival });
      }
    }
    const [{ batch: first }] = filled;
    if (first.items.length > 0 || first.rejects.length > 0) this.#commit(filled);
    return outcomes;
  }

  /** All of a commit has one receipt; two values that came one after the other do not contradict each other. */
  #setApart(reading: Reading, receivedMs: number): void {
    if (reading.t !== receivedMs) return;
    const beforeMs = this.#stampedMs.get(reading.point) ?? -Infinity;
    const isTaken = beforeMs >= receivedMs && beforeMs < receivedMs + stampedApartMs;
    if (isTaken) reading.t = beforeMs + 1;
    this.#stampedMs.set(reading.point, reading.t);
  }

  /** Notes what a bus could not even hand over as a message. @throws JournalError */
  refuse(payload: Buffer, fault: IntakeFault): void {
    const batch = newBatch(this.#parts.clock.nowMs());
    const { code, found, expected } = fault;
    batch.rejects.push({ topic: '', code, found, expected, payload });
    this.store(batch);
  }

  /** Stores what came by another way than a message. @throws JournalError */
  store(batch: NewBatch): Appended {
    return this.#commit([{ batch, owners: [] }])[0]!;
  }

  /** All in one sync: it costs as much for one batch as for four. */
  #commit(filled: readonly Owned[]): Appended[] {
    const { journal, metrics } = this.#parts;
    const stopTimer = metrics?.commitSeconds.startTimer();
    const appended = journal.appendAll(filled.map(({ batch }) => batch));
    stopTimer?.();
    filled.forEach((owned, i) => this.#committed(owned, appended[i]!));
    return appended;
  }

  #committed({ batch, owners }: Owned, appended: Appended): void {
    const seq = appended.batch?.seq;
    appended.places.forEach((index, i) => {
      const outcome = owners[i]?.outcome;
      if (index === null || seq === undefined || outcome === undefined) return;
      outcome.place ??= { seq, index };
    });
    this.#notice(batch, appended.conflicting, owners);
    this.#parts.metrics?.countBatch(batch, appended);
    const stored = appended.batch;
    if (stored !== null) for (const listener of this.#listeners) listener(stored);
  }

  /** Only of what is stored; what is sent again is traffic all the same. */
  #notice({ items, receivedMs }: NewBatch, conflicting: number[], owners: Owner[]): void {
    const { points } = this.traffic;
    const monotonicMs = this.#parts.clock.monotonicMs();
    let before: Arrival | null = null;
    items.forEach((item, i) => {
      const owner = owners[i];
      if (isEvent(item) || owner === undefined) return;
      const { arrival } = owner;
      const point = points.get(item.point);
      const isLive = !arrival.queued && !arrival.retained;
      if (isLive && arrival !== before) point?.message(monotonicMs, arrival.atMostOnce === true);
      before = arrival;
      point?.reading(item, isLive ? receivedMs : null);
    });
    for (const i of conflicting) {
      const item = items[i];
      if (item === undefined || isEvent(item)) continue;
      points.get(item.point)?.conflict(owners[i]?.arrival.client ?? '');
    }
  }

  /** What a message says, as of when it was received. */
  decode(arrival: Arrival, receivedMs: number): { items: JournalItem[]; faults: IntakeFault[] } {
    const faults: IntakeFault[] = [];
    const target = this.#targetOf(arrival);
    const unfit = 'code' in target ? target : this.#unfit(arrival);
    if (unfit !== null || 'code' in target) {
      return { items: [], faults: unfit === null ? [] : [unfit] };
    }
    const reject = (fault: IntakeFault) => void faults.push(fault);
    const text = arrival.payload.toString('utf8');
    const items =
      target.kind === 'event'
        ? this.#event(text, target.station, arrival, receivedMs, reject)
        : this.#readings(text, target.sensor, arrival, receivedMs, reject);
    return { items, faults };
  }

  #targetOf({ topic, act }: Arrival): Target | IntakeFault {
    if (act !== null) {
      if (!topic.startsWith(actTopicPrefix)) throw new RangeError(`no topic of an act: ${topic}`);
      return this.topics.targetOf(`plant/${topic.slice(actTopicPrefix.length)}`);
    }
    return this.topics.targetOf(topic);
  }

  #unfit({ payload }: Arrival): IntakeFault | null {
    const { payloadBytes } = this.#limits;
    if (payload.length > payloadBytes) {
      const expected = `at most ${payloadBytes} bytes`;
      return { code: 'oversize', field: '', found: `${payload.length} bytes`, expected };
    }
    if (isUtf8(payload)) return null;
    const found = `bytes ${payload.subarray(0, 24).toString('hex')}`;
    return { code: 'not-text', field: '', found, expected: 'text in UTF-8' };
  }

  #event(
    text: string,
    station: string,
    arrival: Arrival,
    receivedMs: number,
    reject: (fault: IntakeFault) => void,
  ): StationEvent[] {
    const decoded = decodeEvent(text);
    if ('code' in decoded) {
      reject(decoded);
      return [];
    }
    const wrong = this.#tooOld(decoded.earliestMs, receivedMs);
    if (wrong !== null) {
      reject(wrong);
      return [];
    }
    return [{ station, ...decoded, act: arrival.act }];
  }

  #readings(
    text: string,
    sensor: Sensor,
    arrival: Arrival,
    receivedMs: number,
    reject: (fault: IntakeFault) => void,
  ): Reading[] {
    const { readings, faults } = decodeReadings(text, sensor);
    faults.forEach(reject);
    const taken: Reading[] = [];
    for (const decoded of readings) {
      const t = timeOf(decoded, receivedMs);
      const wrong =
        notLive(decoded, arrival) ?? this.#tooOld(t, receivedMs) ?? this.#dropped(t, sensor.id);
      if (wrong !== null) {
        reject(wrong);
        continue;
      }
      const reading = readingOf(decoded, sensor.id, arrival, receivedMs);
      if (reading.ahead) this.#noteAhead(reading, receivedMs, reject);
      taken.push(reading);
    }
    return taken;
  }

  #tooOld(t: number, receivedMs: number): IntakeFault | null {
    if (t >= receivedMs - this.#limits.oldestMs) return null;
    const days = this.#limits.oldestMs / 86_400_000;
    const expected = `at most ${days} days old; older ones by "setwell import"`;
    return { code: 'too-old', field: 't', found: new Date(t).toISOString(), expected };
  }

  /** Among readings that have been dropped a single one would look like all there was. */
  #dropped(t: number, point: string): IntakeFault | null {
    const keptFromMs = this.#parts.journal.keptFromMs?.(point) ?? 0;
    if (t >= keptFromMs) return null;
    const expected = `not before ${new Date(keptFromMs).toISOString()}; older ones are dropped here`;
    return { code: 'too-old', field: 't', found: new Date(t).toISOString(), expected };
  }

  /** It is stored and never scored; the note is for whoever sets the device's clock. */
  #noteAhead(
    { point, t }: Reading,
    receivedMs: number,
    reject: (fault: IntakeFault) => void,
  ): void {
    this.#parts.metrics?.ahead.inc();
    const noted = this.#aheadNotedMs.get(point);
    if (noted !== undefined && Math.abs(receivedMs - noted) < aheadNoteEveryMs) return;
    this.#aheadNotedMs.set(point, receivedMs);
    reject({
      code: 'ahead',
      field: 't',
      found: `${new Date(t).toISOString()}, ${Math.round((t - receivedMs) / 1000)} s ahead of receipt`,
      expected: `at most ${aheadAfterMs / 1000} s ahead; stored, not scored`,
    });
  }
}

/** So far ahead of receipt values that came together are counted up, a millisecond each [ms]. */
const stampedApartMs = 1000;

function newBatch(receivedMs: number): NewBatch {
  return { receivedMs, items: [], rejects: [] };
}

function notLive({ t }: DecodedReading, { retained, queued }: Arrival): IntakeFault | null {
  if (t !== null || !(retained || queued)) return null;
  const found = `no time, and ${retained ? 'retained' : 'queued'} by the broker`;
  return { code: 'not-live', field: 't', found, expected: 'a reading with its own time' };
}

/** Its own time, or what it says to have been before its receipt [ms]. */
function timeOf({ t, offsetMs }: DecodedReading, receivedMs: number): number {
  return t ?? receivedMs + offsetMs;
}

function readingOf(
  decoded: DecodedReading,
  point: string,
  { retained }: Arrival,
  receivedMs: number,
): Reading {
  const { t, v, seq, doubtful } = decoded;
  const ms = timeOf(decoded, receivedMs);
  const isLate = ms < receivedMs - lateAfterMs;
  const late: ReadingQuality = retained ? 'retained-old' : 'late';
  return {
    point,
    t: ms,
    v,
    quality: doubtful ? 'doubtful' : isLate ? late : 'good',
    deviceSeq: seq,
    stamped: t === null,
    ahead: ms > receivedMs + aheadAfterMs,
  };
}

function rejectedOf({ topic, payload }: Arrival, fault: IntakeFault): Rejected {
  const { code, field, found, expected } = fault;
  return { topic, code, found: field === '' ? found : `${field}: ${found}`, expected, payload };
}
