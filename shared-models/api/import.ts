/** A reading of a logger's file, in its point's own signal. */
export interface ImportedRow {
  point: string;
  /** Its own time [ms]. */
  t: number;
  v: number;
  /** The device's number, where it has one. */
  seq?: number;
}

/** What became of readings that were brought in: `conflict` ones are stored and not scored. */
export interface ImportCounts {
  taken: number;
  duplicate: number;
  conflict: number;
  refused: number;
}

/** The answer to `POST /import/readings`; `index` is a row's place among those given. */
export interface ImportAnswer extends ImportCounts {
  refusals: { index: number; code: string; field: string; found: string; expected: string }[];
}

/** Rows of one request: with their names they fit into its 64 KiB. */
export const mostRowsAtOnce = 400;
