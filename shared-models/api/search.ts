/** What an id can be of, in the order in which they are listed. */
export const foundKinds = [
  'lot',
  'load',
  'part',
  'station',
  'point',
  'instrument',
  'recipe',
] as const;
export type FoundKind = (typeof foundKinds)[number];

/** One thing that bears a name. */
export interface Found {
  kind: FoundKind;
  id: string;
  /** What its page is named by: the lot of a part, the point that an instrument is fitted at. */
  at: string;
  /** Of a part of no lot: its newest load, which its page is. */
  load?: string;
  /** Where it stands or was; empty for what belongs to no station. */
  stations: string[];
  /** Last start [ms]; null for what has none. */
  lastMs: number | null;
}

/** `GET /api/v1/search` */
export interface Searched {
  /** What was looked for: as asked, or as a scanner of another layout was read. */
  text: string;
  /** `found` bears this very name; false: the name is within theirs. */
  exact: boolean;
  found: Found[];
  /** There are more than are told. */
  isCut: boolean;
  /** Lots a slip away, where nothing was found. */
  near: Found[];
  /** The collector did not answer: points and instruments were not looked through. */
  withoutPoints: boolean;
}
