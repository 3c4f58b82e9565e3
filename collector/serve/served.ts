import type { Hello } from '@setwell/shared-models/api/collector';
import type { LotFile } from '@setwell/shared-models/record/lot-file';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import type { TraceView } from '@setwell/shared-models/score/trace';
import type { Importer } from '../intake/importer.ts';
import type { JournalReader } from '../journal/shape.ts';
import type { Ledger } from '../ledger/shape.ts';
import type { InfluxHistory } from '../uplink/influx-history.ts';
import type { Acts } from './acts/acts.ts';
import type { Judgements } from './judgements.ts';
import type { LiveReadings } from './live-readings.ts';

/** What the interface answers from. */
export interface Served {
  nowMs(): number;
  hello(): Hello;
  ready(): { ready: boolean; because: string[] };
  metrics(): Promise<string>;
  journal: JournalReader;
  /** From when on the journal has a point's readings, and not their minutes alone [ms]. */
  keptFromMs(point: string): number;
  /** Where readings are kept for the long run; null: nowhere. */
  history: InfluxHistory | null;
  ledger: Ledger;
  points: ReadonlySet<string>;
  live: LiveReadings;
  judgements: Judgements;
  acts: Acts;
  importer: Importer;
  lot(lot: string): LotFile | null;
  /** @param told hears how far it is drawn, while it takes long */
  trace(load: string, view: TraceView, told?: (share: number) => void): Promise<LoadTrace | null>;
}
