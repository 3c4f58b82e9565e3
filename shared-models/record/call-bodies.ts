/** The closed list of what somebody is called for. A kind without an act would be a log line. */
export type CallKind =
  | 'short-at-plan'
  | 'waiting-will-not-help'
  | 'nearing-most'
  | 'ended-short'
  | 'ended-unproven'
  | 'ended-over'
  | 'release-questioned'
  | 'readings-too-late'
  | 'which-lot'
  | 'event-refused'
  | 'load-faulted'
  | 'sensor-silent'
  | 'point-fault'
  | 'station-silent'
  | 'supply-failing'
  | 'outside-limits'
  | 'recovery-late'
  | 'pressure-lost'
  | 'precure'
  | 'assembly-time'
  | 'flash-off'
  | 'recoat'
  | 'piece-too-cold'
  | 'rest-incomplete'
  | 'idle-hot'
  | 'ready-late'
  | 'closing-unnamed'
  | 'collector';

/** Who acts. */
export type Job = 'shift-lead' | 'maintenance' | 'engineer' | 'administrator';

/** What a call rests on, so that a screen can show it and an auditor can look. */
export type CallEvidence =
  | { what: 'readings'; point: string; fromMs: number; toMs: number }
  | { what: 'event'; seq: number; index: number }
  | { what: 'entry'; n: number };

/** One thing that one person must do now. */
export interface CallRaised {
  kind: CallKind;
  station: string | null;
  load: string | null;
  point: string | null;
  who: Job;
  /** When it is too late to act; null where there is no such moment. */
  tooLateMs: number | null;
  /** Numbers the sentence needs, by name; sentences live in the message files. */
  values: Record<string, string | number | null>;
  /** What it is about, within its kind: one call at a time for each. */
  subject?: string;
  /** The call that stands for this one: recorded, not listed by itself, and nobody is told of it. */
  cause?: string | null;
  evidence?: CallEvidence[];
}

export interface CallAcknowledged {
  note: string | null;
}

/** Put aside, with a reason and an end; it is evaluated on all the while. */
export interface CallShelved {
  reason: string;
  untilMs: number;
}

export interface CallUnshelved {
  because: 'ended' | 'act';
  note: string | null;
}

/** Nobody has come: another job is called as well. */
export interface CallHandedOn {
  to: Job;
  afterMin: number;
}

/** The cause is gone, and nobody has looked yet: a call that latches waits for that. */
export type CallReturned = Record<string, never>;

export interface CallCleared {
  because:
    | 'over'
    | 'load-sealed'
    | 'recovered'
    | 'decided'
    /** The station was switched off, heats up, is cleaned or stands by plan. */
    | 'suppressed'
    /** Another call stands for it now, or no longer does. */
    | 'regrouped';
}
