import type { PointNow } from './collector.ts';
import type { Upkeep } from './upkeep.ts';

/** What is wrong with the collector itself, or with what reaches it, and needs somebody. */
export interface Condition {
  code:
    | 'disk'
    | 'disk-full'
    | 'topic-fast'
    | 'uplink-behind'
    | 'clock-unsynchronised'
    | 'clock-off'
    | 'judge-behind'
    | 'broker-fault'
    | 'journal-damaged'
    | 'not-recording'
    | 'disk-ends'
    | 'backup-old'
    | 'restore-untried'
    | 'certificate-ends'
    | 'certificate-unread'
    | 'wall-unseen'
    | 'version-mixed';
  /** The topic or target it is about; empty where it is about the collector. */
  subject: string;
  /** Numbers its sentence needs, by name. */
  values: Record<string, string | number>;
}

/** A point as `GET /health/now` tells it: since the start of the process, where nothing else is said. */
export interface PointHealth extends PointNow {
  /** How far its clock is before ours, of the last minutes [ms]; null where it has none. */
  offsetMs: number | null;
  /** Times without a reading in the last day, oldest first. */
  gaps: { fromMs: number; toMs: number }[];
  /** Numbers of the device that never came, open holes among them, and how often it began anew. */
  sequence: { missing: number; holes: number; restarts: number };
  /** Messages sent at QoS 0: any of its like may have been lost. */
  atMostOnce: number;
  /** Readings whose time was there with another value; `client` is empty where the bus does not know. */
  conflicts: { client: string; count: number }[];
}

/** `GET /health/now` */
export interface HealthNow {
  nowMs: number;
  broker: { connected: boolean; sinceMs: number | null; url: string; faults: string[] };
  clock: {
    /** Whether the machine's clock follows a time server; null where the machine cannot say. */
    synchronised: boolean | null;
    /** Steps in the last day, oldest first. */
    steps: { atMs: number; byMs: number }[];
  };
  disk: { used: number; call: number; drop: number; refuse: number };
  journal: {
    head: number;
    /** Batches that could not be read when they were needed, least first. */
    unreadable: readonly number[];
  };
  judge: { behindMs: number };
  /** Where readings go for the long run. */
  targets: {
    target: string;
    lagBatches: number;
    lagSeconds: number;
    fault: string | null;
  }[];
  upkeep: Upkeep;
  /** When the log began [ms]: what is never done is called for so long after it. */
  beganMs: number;
  conditions: Condition[];
  points: PointHealth[];
}
