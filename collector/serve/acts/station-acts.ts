import type { Entry } from '@setwell/shared-models/record/entry';
import type { Clock } from '../../clock.ts';
import { actTopicPrefix, type Arrival, type Outcome } from '../../intake/intake.ts';
import type { Refusal } from '../../judge/admission.ts';
import type { ActRefusal, GivenAct } from './act.ts';
import { ActRefused } from './act.ts';
import { refused } from './refused.ts';

/** A judge that says nothing for so long is not there [ms of wall time]. */
const answerWithinMs = 8_000;

export interface StationActParts {
  clock: Clock;
  /** Into the journal, as everything that comes in. */
  accept(arrivals: Arrival[]): Outcome[];
  /** Asks the judge to look at once. */
  step(): void;
}

interface Waiting {
  resolve(entry: Entry): void;
  reject(error: ActRefused): void;
}

/** Acts that are events of a station: journalled as any other, and answered by what the judge makes of them. */
export class StationActs {
  readonly #parts: StationActParts;
  readonly #waiting = new Map<string, Waiting>();

  constructor(parts: StationActParts) {
    this.#parts = parts;
  }

  ask(act: GivenAct): Promise<Entry> {
    const { station } = act.about;
    if (station === undefined) throw refused('about.station', 'none', 'the station');
    const { clock, accept, step } = this.#parts;
    const t = typeof act.body['t'] === 'number' ? act.body['t'] : clock.nowMs();
    const named = act.body['load'] ?? act.about.load;
    const load = named ?? (act.kind === 'load-start' ? loadName(station, t) : undefined);
    const payload = { ...act.body, t, event: act.kind, by: act.by, ...(load ? { load } : {}) };
    return new Promise((resolve, reject) => {
      const cancel = setTimeout(() => {
        this.#waiting.delete(act.id);
        const expected = 'an answer of the judge in 8 s';
        reject(refused('', 'none', expected, 'no-answer', 503));
      }, answerWithinMs);
      this.#waiting.set(act.id, {
        resolve: (entry) => {
          clearTimeout(cancel);
          resolve(entry);
        },
        reject: (error) => {
          clearTimeout(cancel);
          reject(error);
        },
      });
      const [outcome] = accept([
        {
          topic: `${actTopicPrefix}${station}/event`,
          payload: Buffer.from(JSON.stringify(payload)),
          retained: false,
          queued: false,
          act: act.id,
        },
      ]);
      const [fault] = outcome?.faults ?? [];
      if (fault) {
        const { field, found, expected, code } = fault;
        this.#take(act.id)?.reject(refused(field, found, expected, code));
        return;
      }
      if (!outcome?.place) {
        const expected = 'something not said before';
        this.#take(act.id)?.reject(refused('t', 'the same event', expected, 'repeated', 409));
        return;
      }
      step();
    });
  }

  /** What the judge has made of an act's event. */
  settle(entries: Entry[], refusals: { act: string | null; refusal: Refusal }[]): void {
    if (this.#waiting.size === 0) return;
    for (const entry of entries) {
      if (entry.kind !== 'load-opened' && entry.kind !== 'load-ended') continue;
      const { act } = entry.body as { act: string | null };
      this.#take(act)?.resolve(entry);
    }
    for (const { act, refusal } of refusals) {
      if (act === null) continue;
      this.#take(act)?.reject(new ActRefused(answerTo(refusal)));
    }
  }

  #take(act: string | null): Waiting | undefined {
    const waiting = this.#waiting.get(act ?? '');
    this.#waiting.delete(act ?? '');
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
