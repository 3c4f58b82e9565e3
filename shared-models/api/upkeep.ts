export const dayMs = 86_400_000;
/** Common practice, no source: a copy a week and a day's grace, one put back a quarter, a month to buy a disk. */
export const upkeepLimits = { backupD: 8, triedD: 100, diskD: 30, certificateD: 30 };

/** A certificate that the box rests on. */
export interface KeptCertificate {
  what: 'pages' | 'broker' | 'broker-authority' | 'equipment-authority';
  /** When it ends [ms]; null where the file cannot be read. */
  endsMs: number | null;
}

/** A build that has run on this data. */
export interface RunVersion {
  version: string;
  /** Of the clone it was built from; null where it was built from no clone. */
  commit: string | null;
  sinceMs: number;
}

/** What has to be looked after, so that a record goes on being made and can be found again. */
export interface Upkeep {
  recording: {
    /** When the newest reading was received [ms]. */
    newestMs: number | null;
    heard: number;
    points: number;
    /** Why nothing is recorded now; null while it is. */
    because: 'broker' | 'silent' | 'disk' | null;
  };
  /** When the disk will be so full that the oldest readings go [ms]; null: not for ten years, or not known yet. */
  disk: { endsMs: number | null; isKnown: boolean };
  /** When the data were last copied, and when a copy was last put back and read [ms]. */
  backup: { madeMs: number | null; triedMs: number | null };
  certificates: KeptCertificate[];
  /** What the dashboard has said last of its walls; null before its first word. */
  pages: PagesKept | null;
  /** Newest first. */
  versions: RunVersion[];
}

/** What a dashboard tells its collector, for the collector alone can call somebody. */
export interface PagesKept {
  version: string;
  walls: number;
  /** Walls that are paired and have not been seen for two minutes. */
  unseen: { id: string; name: string; minutes: number }[];
}
