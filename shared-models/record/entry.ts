/** The closed list of what a ledger can say. */
export type EntryKind =
  | 'log-started'
  | 'log-continued'
  | 'key-changed'
  | 'clock-stepped'
  | 'session-lost'
  | 'journal-closed'
  | 'readings-dropped'
  | 'plant-revised'
  | 'recipe-proposed'
  | 'recipe-approved'
  | 'recipe-withdrawn'
  | 'load-opened'
  | 'advice-changed'
  | 'load-ended'
  | 'load-sealed'
  | 'load-amended'
  | 'load-faulted'
  | 'load-corrected'
  | 'load-noted'
  | 'lot-filed'
  | 'disposition'
  | 'call-raised'
  | 'call-acknowledged'
  | 'call-shelved'
  | 'call-unshelved'
  | 'call-handed-on'
  | 'call-returned'
  | 'call-cleared'
  | 'station-set'
  | 'closing-voided'
  | 'handover-read'
  | 'owner-taken'
  | 'owner-yielded'
  | 'instrument-fitted'
  | 'instrument-removed'
  | 'instrument-calibrated'
  | 'point-withdrawn'
  | 'point-restored'
  | 'wire-proven'
  | 'fallback-approved'
  | 'fault-found'
  | 'fault-over'
  | 'work-planned'
  | 'work-done'
  | 'work-closed'
  | 'limit-approved'
  | 'survey-taken'
  | 'place-approved'
  | 'impact-reviewed'
  | 'person-granted'
  | 'person-revoked'
  | 'setup-offered'
  | 'model-withdrawn'
  | 'record-exported'
  | 'legal-hold-set'
  | 'legal-hold-lifted'
  | 'lot-file-dropped';

/** What an entry is about; readers filter by it. */
export interface About {
  station?: string;
  load?: string;
  startMs?: number;
  lots?: string[];
  sensor?: string;
  recipe?: string;
  call?: string;
  /** A job at a station, from planned to closed. */
  work?: string;
}

export interface Citation {
  log: string;
  n: number;
  /** SHA-256 leaf hash of the cited entry, hex. */
  leaf: string;
}

/** One entry of a ledger; its RFC 8785 bytes (at most 64 KiB) are what is hashed and kept. */
export interface Entry<Body = unknown> {
  v: 1;
  /** site/collector/life */
  log: string;
  /** 0, 1, 2 …: dense, the only order there is. */
  n: number;
  /** The collector's clock [ms]; information only. */
  at: number;
  kind: EntryKind;
  by: string;
  about: About;
  cites: Citation[];
  body: Body;
}
