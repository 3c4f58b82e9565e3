/** One thing wrong, or doubtful, in a file of ours. */
export interface Finding {
  /** Stable name, for scripts. */
  code: string;
  severity: 'error' | 'warning';
  file: string;
  /** Numbered from 1. */
  line: number;
  column: number;
  /** Path of the key, such as `stations[0].zones[1].upper`; empty for the file as a whole. */
  field: string;
  found: string;
  expected: string;
  /** The name that was probably meant. */
  nearest?: string;
}

/** A file's meaning, or why it has none. With a value there are warnings at most. */
export type Read<T> =
  { ok: true; value: T; findings: Finding[] } | { ok: false; findings: Finding[] };
