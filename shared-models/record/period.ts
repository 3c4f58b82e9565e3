import { dateOfDay, dayOfMs } from '../metrology/calendar-day.ts';
import type { Verdict } from '../score/shape.ts';
import type { BundleProof } from './bundle.ts';
import type { LotRetention } from './retention.ts';

/** `period.json`: what a period's bundle holds, for reading. */
export interface PeriodFile {
  site: { id: string; title: string; demo: boolean };
  log: string;
  /** From the first on, before the second, by the collector's clock [ms]. */
  fromMs: number;
  toMs: number;
  /** Every lot that an entry of the period tells of. */
  lots: PeriodLot[];
}

export interface PeriodLot extends Partial<Kept> {
  lot: string;
  bundle: string;
  loads: number;
  verdict: Verdict | null;
}

/** Who keeps a lot's documents beyond their time, and whether they are gone. Early bundles do not say it. */
type Kept = Pick<LotRetention, 'hold' | 'dropped'>;

/**
 * `proof.json` of a period's bundle: every entry of the period, without a gap, under a signed checkpoint.
 * Its RFC 8785 bytes are kept.
 */
export interface PeriodProof extends Omit<BundleProof, 'lot' | 'entries'> {
  fromMs: number;
  toMs: number;
  /** Numbers of the period's own entries: from the first on, before the next. */
  first: number;
  next: number;
  /**
   * What `ledger/` holds, as ranges: the period's entries with their neighbours, by which it is seen that
   * no earlier and no later one belongs to it, those that name a key, and the export's own.
   */
  shown: [from: number, to: number][];
  /** Hashes of the subtrees between them, from left to right, base64. */
  hidden: string[];
}

/** Name of a period's bundle: its first and last day of UTC. */
export function periodName({ fromMs, toMs }: Pick<PeriodFile, 'fromMs' | 'toMs'>): string {
  const [from, to] = [fromMs, toMs - 1].map((ms) => dateOfDay(dayOfMs(ms)));
  return `${from}_${to}.period.zip`;
}

/** Entries of one member of `ledger/`: some megabytes, so that whoever reads holds no more. */
export const entriesOfMember = 5_000;

export function lotMember(index: number, bundle: string): string {
  return `lots/${String(index + 1).padStart(5, '0')}-${bundle}`;
}

export function ledgerMember(index: number): string {
  return `ledger/${String(index + 1).padStart(6, '0')}.jsonl`;
}

const periodMembers =
  /^(README\.txt|period\.json|proof\.json|lots\/[0-9]{5,}-[A-Za-z0-9._-]+\.bundle\.zip|ledger\/[0-9]{6}\.jsonl)$/;

/** Whether a member of that name belongs into a period's bundle; a climbing path does not. */
export function isPeriodMember(name: string): boolean {
  return periodMembers.test(name);
}

/** The members whose digests the export's own entry fixes. */
export function isOutsideProof(name: string): boolean {
  return name !== 'proof.json' && !name.startsWith('ledger/');
}
