import type { StoredReject } from './journal.ts';
import type { SequenceHole } from './sequence.ts';
import type { ReadingQuality, Reject } from '@setwell/shared-models/api/collector';

/** One measured value, as received: raw, in the point's own signal. */
export interface Reading {
  point: string;
  /** The reading's own time [ms]. */
  t: number;
  v: number;
  quality: ReadingQuality;
  /** The device's sequence number, where it sends one. */
  deviceSeq: number | null;
  /** Stamped on receipt: the payload carried no time. */
  stamped: boolean;
  /** Its time lies more than 10 s after its receipt: stored, never scored. */
  ahead: boolean;
}

/** What somebody says has happened at a station, as received. */
export interface StationEvent {
  station: string;
  event: string;
  earliestMs: number;
  latestMs: number;
  load: string | null;
  lot: string | null;
  /** `id` or `id@revision`. */
  recipe: string | null;
  zones: string[] | null;
  opening: string | null;
  parts: string[];
  by: string | null;
  /** The act that asked for it, where a person did it on a screen. */
  act: string | null;
  /** The rest of the payload. */
  more: Record<string, unknown>;
}

/** One group commit: everything accepted in one go, in order of arrival. */
export interface Batch {
  seq: number;
  receivedMs: number;
  /** Who brought it in by hand; absent for what a bus brought. */
  by?: string;
  readings: Reading[];
  events: { index: number; event: StationEvent }[];
}

/** The newest value of a point. */
export interface LastReading extends Reading {
  receivedMs: number;
}

export interface PointReadings {
  readings: Reading[];
  /** How many times have two values, and which. */
  conflicts: number;
  conflictTimes: number[];
}

/** Of the readings in a minute, or in several. */
export interface Minute {
  t: number;
  min: number;
  max: number;
  mean: number;
  count: number;
}

/** A read-only view of the journal, on a connection of its own; safe in a worker. */
export interface JournalReader {
  /** Greatest batch number; 0 while empty. */
  head(): number;
  /** Batches that could not be read when they were asked for, least first: damaged, left out of every answer. */
  unreadable(): readonly number[];
  /** Batches with a greater number, oldest first, at most `limit`. */
  batchesAfter(seq: number, limit: number): Batch[];
  /** Of the batches after `seq` and up to `untilSeq` those that hold an event, oldest first, at most `limit`. */
  batchesWithEvents(seq: number, untilSeq: number, limit: number): Batch[];
  /** The same of those that hold an event which names a load. */
  batchesNaming(load: string, seq: number, untilSeq: number): Batch[];
  /** First batch with an event of a station that happened at or after `fromMs`; null where there is none. */
  firstEventSeq(station: string, fromMs: number): number | null;
  /** Readings of a point with fromMs ≤ t ≤ toMs, by time; both values of a conflict are left out, and their times told. */
  readings(point: string, fromMs: number, toMs: number): PointReadings;
  /** Holes in a device's numbers with fromMs ≤ t ≤ toMs; none where it does not number. */
  sequenceHoles(point: string, fromMs: number, toMs: number): SequenceHole[];
  /** When readings of a point in a time span came in after a batch [ms]; null where none did. */
  arrivedAfter(
    seq: number,
    point: string,
    fromMs: number,
    toMs: number,
  ): { firstMs: number; lastMs: number } | null;
  lastReading(point: string): LastReading | null;
  /** Minute roll-up: least, greatest, mean, count. */
  minutes(point: string, fromMs: number, toMs: number): Minute[];
  /** The same put together in steps from `fromMs` on, each under the time of its first minute. */
  minutesInSteps(point: string, fromMs: number, toMs: number, stepMs: number): Minute[];
  /** What binds a run of batches into the ledger: the last one's chained hash, hex, and what came with them. */
  closing(fromSeq: number, toSeq: number): { lastHash: string; conflicts: number; rejects: number };
  /** What could not be stored, newest first. */
  rejects(limit: number): Reject[];
  /** The same to be tried again, oldest first, from behind a number. */
  rejectsAfter(id: number, limit: number): StoredReject[];
  close(): void;
}
