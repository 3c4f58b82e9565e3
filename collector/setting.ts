import type { ClockSetting } from '@setwell/shared-models/api/clock';
import type { Finding } from '@setwell/shared-models/plant/finding';
import type { Clock } from './clock.ts';
import type { Bus } from './intake/bus.ts';
import type { BusParts } from './intake/plant-bus.ts';
import type { ServerAddress } from './serve/server.ts';

export interface CollectorSetting {
  plantFile: string;
  dataDir: string;
  /** Private keys; beside the data by default, so that a copy of the data holds none. */
  keyDir?: string;
  clock: Clock;
  clockSetting: ClockSetting;
  /** `inline` where a simulation steps the clock, `worker` where intake must not wait. */
  judge: 'worker' | 'inline';
  /** Connects to where readings come from; absent where they are handed over by `accept`. */
  bus?: (parts: BusParts) => Bus | Promise<Bus>;
  /** Where the small interface answers; absent: nowhere. */
  serve?: ServerAddress;
  version: string;
  /** Of the clone this was built from. */
  commit?: string | null;
  /** Certificate of the pages, which the dashboard serves by. */
  pagesCertificate?: string;
  /** Judging at most so often a load [ms of plant time]; a second of the wall's by default. */
  judgeEveryMs?: number;
  /** Looking at the journal so often [ms of plant time]; a quarter second of the wall's by default. */
  stepEveryMs?: number;
  /** Share of the journal's disk that is used [1]; the machine's own answer by default. */
  usedShare?: (path: string) => number;
  /** Whether the machine's clock follows a time server, null: unknown; the machine is asked by default. */
  isSynchronised?: () => Promise<boolean | null>;
  /** One line for whoever runs it. */
  log?: (line: string) => void;
  /** A bug or a disk that refuses: the process ends, and its supervisor starts it again. */
  onFatal?: (error: unknown) => void;
}

/** A file of ours that cannot be used, with every place where it is wrong. */
export class BadPlant extends Error {
  readonly findings: Finding[];

  constructor(file: string, findings: Finding[]) {
    super(`${file}: ${String(findings.length)} findings`);
    this.findings = findings;
  }
}
