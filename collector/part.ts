import type { ClockSetting } from '@setwell/shared-models/api/clock';
import type { PointNow } from '@setwell/shared-models/api/collector';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { WorkEvidence } from '@setwell/shared-models/condition/station-report';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { Clock } from './clock.ts';
import type { ImpactReviewing } from './export/impact-thread.ts';
import type { BusStatus } from './intake/bus.ts';
import type { Traffic } from './intake/traffic.ts';
import type { Journal } from './journal/journal.ts';
import type { JournalReader } from './journal/shape.ts';
import type { Documents } from './judge/documents.ts';
import type { JudgeStep } from './judge/judge.ts';
import type { LedgerFold } from './judge/ledger-fold.ts';
import type { Ledger, Proposal } from './ledger/shape.ts';
import type { Metrics } from './metrics.ts';
import type { LedgerIndex } from './ledger/ledger-index.ts';
import type { Route } from './serve/route.ts';
import type { UplinkState } from './uplink/uplink.ts';

/** What a part may use of the collector it belongs to. */
export interface Collected {
  readonly name: string;
  readonly dataDir: string;
  /** Secrets stand in files named from its folder. */
  readonly plantFile: string;
  readonly plant: Plant;
  readonly version: string;
  /** Of the clone this was built from; null where it was none. */
  readonly commit: string | null;
  /** Certificate of the pages; null where they come without TLS. */
  readonly pagesCertificate: string | null;
  readonly clock: Clock;
  readonly clockSetting: ClockSetting;
  readonly journal: JournalReader;
  readonly ledger: Ledger;
  readonly fold: LedgerFold;
  /** Plants and recipes that the ledger names. */
  readonly documents: Documents;
  readonly lots: LedgerIndex;
  readonly metrics: Metrics;
  /** What is noticed of points' messages beside their values. */
  readonly traffic: Traffic;
  /** The journal's own keeping: how full its disk is, and what may go. */
  readonly store: Pick<Journal, 'used' | 'oldestMs' | 'drop' | 'keptFromMs'>;
  /** Loads of an instrument scored again; in a thread of its own, for it takes minutes. */
  impact: ImpactReviewing;
  /** Appends what was done or is to be said; every part hears it. */
  append(proposals: Proposal[]): Entry[];
  /** To the broker, retained, at most once; nowhere while there is none. */
  publish(topic: string, payload: string): void;
  bus(): BusStatus;
  /** How far the long history is behind; null where there is none. */
  uplink(): UplinkState | null;
  /** Since when the judge has not been at the journal's end [ms of wall time]. */
  behindMs(): number;
  /** Whether the machine's clock follows a time server; null where it cannot say. */
  isSynchronised(): Promise<boolean | null>;
  log(line: string): void;
  /** Newest value of each point. */
  pointsNow(): PointNow[];
  /** Since when a point that has spoken once is silent [ms]; null while it is not. */
  silentSinceMs(point: string): number | null;
}

/**
 * What follows the collector: it hears each entry once, in order, then each look of the judge.
 *
 * A part that cannot be rebuilt from ledger and journal keeps its own file in the data folder. It may
 * be late, die with the process and begin again without touching intake.
 */
export interface Part {
  /** Entries in order; those of before the start come first, before `start`. */
  hear?(entries: Entry[]): void;
  /** What a look of the judge has found; its entries were heard before. */
  look?(step: JudgeStep, entries: Entry[]): void;
  start?(): void;
  /** The broker answers, for the first time or again. */
  connected?(): void;
  stop?(): void | Promise<void>;
  /** What cycles and surveys say of a job; null where it knows none of that name at the station. */
  evidenceOf?(station: string, work: string): WorkEvidence | null;
  /** When a station that heats up will be ready [ms]; null where it knows none that does. */
  expectedReadyMs?(station: string): number | null;
  /** What it answers on the small interface. */
  routes?(): Route[];
}

/** What the first part that knows answers. */
export function firstOf<T>(answers: readonly (T | null | undefined)[]): T | null {
  return answers.find((answer) => answer !== null && answer !== undefined) ?? null;
}
