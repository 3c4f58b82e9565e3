import { Counter, Gauge, Histogram, Registry } from 'prom-client';
import type { Appended, NewBatch } from './journal/journal.ts';

/** What the collector counts, under names that begin with `setwell_`. */
export class Metrics {
  readonly registry = new Registry();
  readonly readings = this.#counter('setwell_readings_total', 'Readings stored');
  readonly events = this.#counter('setwell_events_total', 'Station events stored');
  readonly batches = this.#counter('setwell_batches_total', 'Batches committed to the journal');
  readonly duplicates = this.#counter(
    'setwell_duplicates_total',
    'Readings and events received again',
  );
  readonly conflicts = this.#counter(
    'setwell_conflicts_total',
    'Readings whose point and time were there with another value',
  );
  readonly ahead = this.#counter('setwell_ahead_total', 'Readings ahead of their receipt');
  readonly acknowledged = this.#counter(
    'setwell_acknowledged_total',
    'Messages acknowledged after their commit',
  );
  readonly failedCommits = this.#counter(
    'setwell_failed_commits_total',
    'Commits that the disk refused; nothing of them was acknowledged',
  );
  readonly rejects = new Counter({
    name: 'setwell_rejects_total',
    help: 'Payloads, or readings in them, set aside, by reason',
    labelNames: ['code'],
    registers: [this.registry],
  });
  readonly journalSeq = new Gauge({
    name: 'setwell_journal_seq',
    help: 'Greatest batch number',
    registers: [this.registry],
  });
  readonly commitSeconds = new Histogram({
    name: 'setwell_commit_seconds',
    help: 'Time of a synced commit',
    buckets: [0.0005, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1, 5],
    registers: [this.registry],
  });

  countBatch(batch: NewBatch, { batch: stored, duplicates, conflicts }: Appended): void {
    for (const { code } of batch.rejects) this.rejects.inc({ code });
    if (duplicates > 0) this.duplicates.inc(duplicates);
    if (conflicts > 0) this.conflicts.inc(conflicts);
    if (stored === null) return;
    this.batches.inc();
    this.readings.inc(stored.readings.length);
    this.events.inc(stored.events.length);
    this.journalSeq.set(stored.seq);
  }

  #counter(name: string, help: string): Counter {
    return new Counter({ name, help, registers: [this.registry] });
  }
}
