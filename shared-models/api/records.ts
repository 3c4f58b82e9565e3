import type { Entry } from '../record/entry.ts';
import type { LotFile } from '../record/lot-file.ts';
import type { NumberGap, StationHour } from '../record/completeness.ts';
import type { Verdict } from '../score/shape.ts';
import type { SettingsThen } from '../record/settings-then.ts';

/** One load as the records list it. */
export interface RecordRow {
  load: string;
  station: string;
  lot: string;
  parts: string[];
  recipe: string | null;
  startMs: number;
  endMs: number | null;
  state: 'open' | 'ended' | 'sealed';
  verdict: Verdict;
  revisions: number;
}

/** `GET /records`: what was found, and how many loads were looked at. */
export interface RecordsFound {
  rows: RecordRow[];
  lookedAt: number;
  /** More lie in the period than are looked at in one go. */
  isCut: boolean;
}

/** What is shown of a list: where `isCut`, its newest ones only. */
export interface Newest<T> {
  rows: T[];
  count: number;
  isCut: boolean;
}

/** `GET /records/completeness`: what a period holds, and what it does not. */
export interface Completeness {
  fromMs: number;
  toMs: number;
  /** Over every load of the period; one whose start was taken back has its number. */
  numbers: NumberGap[];
  stations: { station: string; kind: string; hours: StationHour[] }[];
  /** Loads whose verdict is not in-window. */
  notInWindow: Newest<RecordRow>;
  /** Releases on concession, corrections, and whatever else goes around a rule. */
  exceptions: Newest<Entry>;
  /** Rights and recipes as they were set in the period. */
  settings: Newest<Entry>;
  /** As they stood at its end. */
  then: SettingsThen;
}

/** `GET /records/sample`: drawn by the auditor's seed; rank = SHA-256(seed ‖ LF ‖ load), smallest first. */
export interface RecordSample {
  seed: string;
  /** Every load of the period that has come out. */
  of: number;
  rows: (RecordRow & { rank: string })[];
}

/** `GET /records/trail`: entries in the order of the ledger. */
export interface Trail {
  log: string;
  entries: Entry[];
  /** Greatest entry of the log that is known here. */
  lastN: number;
  /** The lot's file as it stood after entry `asOf`. */
  file: LotFile | null;
}

/** `GET /checkpoint`: what is printed and handed on, so that it leaves the box. */
export interface NewestCheckpoint {
  origin: string;
  size: number;
  /** Base64. */
  root: string;
  /** C2SP signed note. */
  note: string;
  /** The verifier key that belongs to it. */
  key: string;
  atMs: number;
}
