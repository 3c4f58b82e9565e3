import type { Entry } from '@setwell/shared-models/record/entry';
import type { Clock } from '../../clock.ts';
import { actTopicPrefix, type Arrival, type Outcome } from '../../intake/intake.ts';
import type { Refusal } from '../../judge/admission.ts';
import type { JudgeStep } from '../../judge/judge.ts';
import type { Ledger } from '../../ledger/shape.ts';
import type { ActRefusal, GivenAct } from './act.ts';
import { ActRefused } from './act.ts';
import { refused } from './refused.ts';

/** A judge that says nothing for so long is not there [ms of wall time]. */
const answerWithinMs = 8_000;

/** Entries by which the judge answers an event. */
const answersAnEvent: ReadonlySet<string> = new Set([
  'load-opened',
  'load-ended',
  'instrument-fitted',
  'instrument-removed',
]);

export interface StationActParts {
  ledger: Ledger;
  clock: Clock;
  /** Into the journal, as everything that comes in. */
  accept(arrivals: Arrival[]): Outcome[];
  /** Asks the judge to look at once. */
  step(): void;
}

interface Waiting {
  /** Everybody who has asked with this id gets the one answer. */
  answer: Promise<Entry | null>;
  resolve(entry: Entry | null): void;
  reject(error: ActRefused): void;
}

/** Acts that are in the journal and that the judge has not answered; more than these is no plant's day. */
const mostStored = 1_000;

/** Acts that are events of a station: journalled as any other, and answered by what the judge makes of them. */
export class StationActs {
  readonly #parts: StationActParts;
  readonly #waiting = new Map<string, Waiting>();
  readonly #stored = new Set<string>();

  constructor(parts: StationActParts) {
    this.#parts = parts;
  }

  /**
   * Asks once, however often it is called with the same id.
   *
   * @returns the entry it has led to; null: it is stored, and not yet judged
   * @throws ActRefused
   */
  ask(act: GivenAct): Promise<Entry | null> {
    const known = this.#waiting.get(act.id);
    if (known) return known.answer;
    const waiting = this.#wait(act.id);
    try {
      if (!this.#stored.has(act.id)) this.#store(act);
    } catch (error) {
      // What the disk refuses is not recorded, and nobody waits for it.
      this.#take(act.id)?.resolve(null);
      throw error;
    }
    this.#parts.step();
    return waiting.answer;
  }

  /** What the judge has made of an act's event. */
  settle(entries: Entry[], { refusals, repeated }: Pick<JudgeStep, 'refusals' | 'repeated'>): void {
    for (const entry of entries) {
      if (!answersAnEvent.has(entry.kind)) continue;
      const { act } = entry.body as { act: string | null };
      this.#take(act)?.resolve(entry);
    }
    for (const { act } of repeated) {
      const entry = this.#parts.ledger.ofAct(act);
      if (entry) this.#take(act)?.resolve(entry);
    }
    for (const { act, refusal } of refusals) {
      if (act !== null) this.#take(act)?.reject(new ActRefused(answerTo(refusal)));
    }
  }

  #wait(id: string): Waiting {
    let resolve: Waiting['resolve'] = () => {};
    let reject: Waiting['reject'] = () => {};
    const answer = new Promise<Entry | null>((resolved, rejected) => {
      resolve = resolved;
      reject = rejected;
    });
    const cancel = setTimeout(() => this.#take(id, true)?.resolve(null), answerWithinMs);
    void answer.catch(() => {}).finally(() => clearTimeout(cancel));
    const waiting = { answer, resolve, reject };
    this.#waiting.set(id, waiting);
    return waiting;
  }

  /** Into the journal; from here on it is not lost, whatever the judge does. */
  #store(act: GivenAct): void {
    const { station } = act.about;
    if (station === undefined) throw refused('about.station', 'none', 'the station');
    const [outcome] = this.#parts.accept([
      {
        topic: `${actTopicPrefix}${station}/event`,
        payload: Buffer.from(JSON.stringify(this.#payload(act, station))),
        retained: false,
        queued: false,
        act: act.id,
      },
    ]);
    const [fault] = outcome?.faults ?? [];
    if (fault) {
      const { field, found, expected, code } = fault;
      this.#take(act.id)?.reject(refused(field, found, expected, code));
    } else if (!outcome?.place) {
      const expected = 'something not said before';
      this.#take(act.id)?.reject(refused('t', 'the same event', expected, 'repeated', 409));
    } else {
      this.#remember(act.id);
    }
  }

  #payload(act: GivenAct, station: string): object {
    const t = typeof act.body['t'] === 'number' ? act.body['t'] : this.#parts.clock.nowMs();
    const named = act.body['load'] ?? act.about.load;
    const load = named ?? (act.kind === 'load-start' ? loadName(station, t) : undefined);
    return { ...act.body, t, event: act.kind, by: act.by, ...(load ? { load } : {}) };
  }

  #remember(id: string): void {
    this.#stored.add(id);
    const [oldest] = this.#stored;
    if (this.#stored.size > mostStored && oldest !== undefined) this.#stored.delete(oldest);
  }

  /** @param remains it is still in the journal without an answer */
  #take(act: string | null, remains = false): Waiting | undefined {
    const waiting = this.#waiting.get(act ?? '');
    this.#waiting.delete(act ?? '');
    if (!remains) this.#stored.delete(act ?? '');
    return waiting;
  }
}

/** Readable, and unique to the second: `press-1-20260302-094010`. */
function loadName(station: string, t: number): string {
  // A time that is no date is refused a moment later, by its own field.
  const digits = new Date(Math.abs(t) < 8.64e15 ? t : 0)
    .toISOString()
    .replaceAll(/[-:]/g, '')
    .replace('T', '-');
  return `${station}-${digits.slice(0, 15)}`;
}

/** A refusal of the judge as an answer to an act. */
export function answerTo({ code, field, found, expected }: Refusal): ActRefusal {
  return { status: 422, code, field, found, expected };
}
