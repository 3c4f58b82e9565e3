import { createHash } from 'node:crypto';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { checkChain } from '@setwell/collector/journal/chain';
import { openJournalReader } from '@setwell/collector/journal/journal';
import type { JournalReader } from '@setwell/collector/journal/shape';
import type { LoadSealed, ReadingsDropped } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { ScoreResult } from '@setwell/shared-models/score/shape';
import type { Day } from './day.ts';
import type { Message } from './plant.ts';

/** The last account of a load's record, and what it was computed to. */
export interface Sealed {
  body: LoadSealed;
  result: ScoreResult;
}

class Broken extends Error {}

/** What must be so of a day after each step of it, held against its files and not against its words. */
export class Account {
  readonly #day: Day;
  readonly #sent: ReadonlySet<string>;
  #checked = 0;
  #entries = 0;
  #journal: Database.Database | null = null;
  #reading: JournalReader | null = null;
  /** What the batches up to here have held. */
  readonly #held = new Set<string>();
  #readSeq = 0;
  readonly #ledger = createHash('sha256');
  readonly #opened = new Set<string>();

  /** @param sent everything that anybody has published */
  constructor(day: Day, sent: readonly Message[]) {
    this.#day = day;
    this.#sent = new Set(sent.flatMap(({ readings }) => readings.map(keyOf)));
  }

  /** What was acknowledged since the last look is stored; the ledger has grown, and nothing else. */
  look(): void {
    const { acknowledged } = this.#day.broker;
    const fresh = acknowledged.slice(this.#checked);
    this.#checked = acknowledged.length;
    this.#isStored(fresh);
    this.#ledgerGrew();
  }

  /** Everything once more, from the files. */
  atTheEnd(): void {
    this.look();
    const { acknowledged } = this.#day.broker;
    this.#isStored(acknowledged);
    for (const key of this.#stored()) {
      if (!this.#sent.has(key)) throw new Broken(`stored though never sent: ${key}`);
    }
    for (const { readings } of acknowledged) {
      for (const reading of readings) this.#isRead(reading);
    }
    const { faults } = checkChain(join(this.#day.dataDir, 'journal.db'));
    if (faults.length > 0) throw new Broken(`the chain is broken at batch ${faults[0]?.seq}`);
  }

  entries<Body>(...kinds: string[]): Entry<Body>[] {
    return this.#day.collector.ledger
      .entriesAfter(-1, 1_000_000)
      .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry<Body>)
      .filter(({ kind }) => kinds.includes(kind));
  }

  sealed(): Map<string, Sealed> {
    const sealed = new Map<string, Sealed>();
    for (const { about, body } of this.entries<LoadSealed>('load-sealed', 'load-amended')) {
      const before = sealed.get(about.load ?? '')?.body.revision ?? 0;
      if (body.revision !== before + 1) {
        throw new Broken(`${about.load}: revision ${body.revision} after ${before}`);
      }
      const result = this.#day.collector.ledger.blob(body.result.sha256)?.toString('utf8');
      if (result === undefined) throw new Broken(`${about.load}: its result is not there`);
      sealed.set(about.load ?? '', { body, result: JSON.parse(result) as ScoreResult });
    }
    return sealed;
  }

  #isStored(messages: readonly Message[]): void {
    if (messages.length === 0) return;
    const stored = this.#stored();
    this.#withJournal((db) => {
      const aside = db.prepare<[string]>('SELECT 1 FROM reject WHERE payload = CAST(? AS BLOB)');
      for (const { readings, payload } of messages) {
        for (const reading of readings) {
          if (stored.has(keyOf(reading)) || aside.get(payload) || this.#isDropped(reading.t)) {
            continue;
          }
          throw new Broken(`acknowledged and not stored: ${payload}`);
        }
        if (readings.length === 0 && !payload.startsWith('{') && !aside.get(payload)) {
          throw new Broken(`acknowledged and not set aside: ${payload}`);
        }
      }
    });
  }

  /** All that the batches have held so far. */
  #stored(): ReadonlySet<string> {
    for (;;) {
      const batches = this.#reader().batchesAfter(this.#readSeq, 1000);
      for (const { readings } of batches) for (const one of readings) this.#held.add(keyOf(one));
      if (batches.length === 0) return this.#held;
      this.#readSeq = batches.at(-1)!.seq;
    }
  }

  /** What is stored is found by whoever asks for its point and time, in conflict or not. */
  #isRead({ point, t, v }: Message['readings'][number]): void {
    if (!this.#held.has(keyOf({ point, t, v }))) return;
    const { readings, conflictTimes } = this.#reader().readings(point, t, t);
    if (conflictTimes.includes(t) || readings.some((one) => one.v === v)) return;
    if (this.#isDropped(t)) return;
    throw new Broken(`stored and not found: ${keyOf({ point, t, v })}`);
  }

  #isDropped(t: number): boolean {
    return this.entries<ReadingsDropped>('readings-dropped').some(({ body }) => t < body.untilMs);
  }

  #ledgerGrew(): void {
    const { ledger } = this.#day.collector;
    const fresh = ledger.entriesAfter(this.#entries - 1, 100_000);
    for (const { n, bytes } of fresh) {
      if (n !== this.#entries) throw new Broken(`entry ${n} where ${this.#entries} was due`);
      this.#entries += 1;
      this.#ledger.update(bytes);
      const { kind, about } = JSON.parse(bytes.toString('utf8')) as Entry;
      if (kind !== 'load-opened') continue;
      if (this.#opened.has(about.load ?? '')) throw new Broken(`${about.load} was opened twice`);
      this.#opened.add(about.load ?? '');
    }
    if (ledger.size() !== this.#entries) throw new Broken('the ledger has lost entries');
  }

  /** The same bytes as were seen when they were written. */
  ledgerIsUnchanged(): void {
    const now = createHash('sha256');
    for (const { bytes } of this.#day.collector.ledger.entriesAfter(-1, 1_000_000))
      now.update(bytes);
    if (now.digest('hex') !== this.#ledger.digest('hex')) throw new Broken('an entry was changed');
  }

  close(): void {
    this.#journal?.close();
    this.#reading?.close();
  }

  #reader(): JournalReader {
    return (this.#reading ??= openJournalReader(join(this.#day.dataDir, 'journal.db')));
  }

  #withJournal(read: (db: Database.Database) => void): void {
    const path = join(this.#day.dataDir, 'journal.db');
    this.#journal ??= new Database(path, { readonly: true });
    read(this.#journal);
  }
}

function keyOf({ point, t, v }: Message['readings'][number]): string {
  return `${point} ${t} ${v}`;
}

/**
 * Holds a disturbed day's records against the quiet one's: the same interval, or a wider one that says
 * why; and what is not sealed at all has called somebody.
 */
export function atMostWider(disturbed: Account, quiet: ReadonlyMap<string, Sealed>): void {
  const own = disturbed.sealed();
  for (const [load, { body: whole, result: wanted }] of quiet) {
    const found = own.get(load);
    if (!found) {
      const calls = disturbed.entries('call-raised').length;
      if (calls === 0) throw new Broken(`${load} has no record, and nobody was called`);
      continue;
    }
    const { body, result } = found;
    let isWider = false;
    for (const [i, place] of wanted.places.entries()) {
      const other = result.places[i];
      if (!other) {
        // With no reading left there is nothing to compute, and that is said.
        if (body.verdict === 'unproven' && result.reasons.length > 0) continue;
        throw new Broken(`${load}: no place ${place.zone}`);
      }
      const slack = 1e-9 * Math.abs(place.nominal);
      if (other.low > place.low + slack || other.high < place.high - slack) {
        const is = `${other.low}…${other.high}`;
        throw new Broken(
          `${load}: ${is} with less data, ${place.low}…${place.high} with all of it`,
        );
      }
      isWider ||= other.low < place.low - slack || other.high > place.high + slack;
    }
    const { readings, gaps, doubtful, conflicts } = body.quality;
    const isLess = readings < whole.quality.readings;
    const says =
      isLess ||
      gapCost(result) > gapCost(wanted) ||
      gaps + doubtful + conflicts > 0 ||
      body.silent.length > 0;
    if (isWider && !says) throw new Broken(`${load} is wider and does not say why`);
    if (body.verdict !== wanted.verdict && body.verdict !== 'unproven') {
      throw new Broken(`${load}: ${body.verdict}, and ${wanted.verdict} with all readings`);
    }
  }
}

/** What the time between readings costs, as the record says [min]. */
function gapCost({ budget }: ScoreResult): number {
  return budget.reduce((sum, { term, down, up }) => sum + (term === 'gap' ? down + up : 0), 0);
}
