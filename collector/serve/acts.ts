import type { ActAnswer } from '@setwell/shared-models/api/collector';
import type { About, Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { Clock } from '../clock.ts';
import { actTopicPrefix, type Arrival, type Outcome } from '../intake/intake.ts';
import type { Refusal } from '../judge/admission.ts';
import type { Ledger, Proposal } from '../ledger/shape.ts';
import { ActRefused, type ActRefusal, type GivenAct } from './act.ts';

/** A judge that says nothing for so long is not there [ms of wall time]. */
const answerWithinMs = 8_000;
/** Answers of refused acts that are remembered, so that the same id gets the same answer. */
const mostRefused = 1_000;

const dispositionSchema = z.looseObject({
  decision: z.enum(['hold', 'release', 'extend', 're-press', 'rework', 'scrap', 'concession']),
  reason: z.string().min(1).max(1000),
  onRevision: z.number().int().positive().optional(),
});
const acknowledgedSchema = z.strictObject({
  note: z.string().max(500).nullable().default(null),
});

export interface ActParts {
  ledger: Ledger;
  clock: Clock;
  /** Into the journal, as everything that comes in. */
  accept(arrivals: Arrival[]): Outcome[];
  /** Appends, and lets the judge hear it. */
  append(proposals: Proposal[]): Entry[];
  /** Asks the judge to look at once. */
  step(): void;
}

interface Waiting {
  resolve(entry: Entry): void;
  reject(error: ActRefused): void;
}

/** What people ask for. The same id again gets the same answer. */
export class Acts {
  readonly #parts: ActParts;
  readonly #waiting = new Map<string, Waiting>();
  readonly #refused = new Map<string, ActRefusal>();

  constructor(parts: ActParts) {
    this.#parts = parts;
  }

  /** @throws ActRefused with the status, the field and the reason */
  async do(act: GivenAct): Promise<ActAnswer> {
    const known = this.#parts.ledger.ofAct(act.id);
    if (known) return answerOf(known);
    const refused = this.#refused.get(act.id);
    if (refused) throw new ActRefused(refused);
    switch (act.kind) {
      case 'load-start':
      case 'load-end':
        return answerOf(await this.#event(act));
      case 'call-acknowledged':
        return answerOf(this.#acknowledge(act));
      case 'disposition':
        return answerOf(this.#dispose(act));
    }
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
      const { code, field, found, expected } = refusal;
      const answer: ActRefusal = { status: 422, code, field, found, expected };
      this.#remember(act, answer);
      this.#take(act)?.reject(new ActRefused(answer));
    }
  }

  #event(act: GivenAct): Promise<Entry> {
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

  #acknowledge(act: GivenAct): Entry {
    const { call } = act.about;
    if (call === undefined) throw refused('about.call', 'none', 'the call');
    const raised = this.#answered(act);
    if (raised && raised.about.call !== call) {
      throw refused('on.n', `entry ${String(raised.n)}`, `the entry that raised ${call}`);
    }
    const body = parsed(acknowledgedSchema, act.body);
    return this.#append(act, { ...raised?.about, ...aboutOf(act) }, body);
  }

  #dispose(act: GivenAct): Entry {
    if (act.about.load === undefined && act.about.lots === undefined) {
      throw refused('about.load', 'none', 'the load, or the lots');
    }
    this.#answered(act);
    return this.#append(act, aboutOf(act), parsed(dispositionSchema, act.body));
  }

  /** The entry that an act answers; 409 where somebody answered it meanwhile. */
  #answered(act: GivenAct): Entry | null {
    if (!act.on) return null;
    const { ledger } = this.#parts;
    const entry = ledger.entry(act.on.n);
    if (!entry) throw refused('on.n', String(act.on.n), `an entry before ${String(ledger.size())}`);
    const later = newerAnswer(ledger, entry);
    if (later) {
      const found = `entry ${String(later.n)} (${later.kind} by ${later.by})`;
      throw refused('on.n', found, `nothing newer than entry ${String(entry.n)}`, 'moved-on', 409);
    }
    return entry;
  }

  #append(act: GivenAct, about: About, body: object): Entry {
    const { ledger, append } = this.#parts;
    const [cited] = act.on ? ledger.entriesAfter(act.on.n - 1, 1) : [];
    const cites = cited ? [{ log: ledger.log, n: cited.n, leaf: cited.leaf }] : [];
    const [entry] = append([
      { kind: act.kind as 'disposition', by: act.by, about, cites, body, act: act.id },
    ]);
    if (!entry) throw new Error('the ledger has answered no entry');
    return entry;
  }

  #take(act: string | null): Waiting | undefined {
    const waiting = this.#waiting.get(act ?? '');
    this.#waiting.delete(act ?? '');
    return waiting;
  }

  #remember(act: string, refusal: ActRefusal): void {
    this.#refused.set(act, refusal);
    const [oldest] = this.#refused.keys();
    if (this.#refused.size > mostRefused && oldest !== undefined) this.#refused.delete(oldest);
  }
}

/** How far on it is looked for a newer answer: a call is answered within minutes. */
const lookAhead = 20_000;

/** A later entry that answers the same thing: acknowledged, cleared, or decided by somebody else. */
function newerAnswer(ledger: Ledger, entry: Entry): Entry | null {
  const { call, load } = entry.about;
  for (const { bytes } of ledger.entriesAfter(entry.n, lookAhead)) {
    const later = JSON.parse(bytes.toString('utf8')) as Entry;
    const ofCall = call !== undefined && later.about.call === call;
    if (ofCall && (later.kind === 'call-acknowledged' || later.kind === 'call-cleared'))
      return later;
    const ofLoad = call === undefined && load !== undefined && later.about.load === load;
    if (ofLoad && (later.kind === 'disposition' || later.kind === 'load-amended')) return later;
  }
  return null;
}

/** The members that are there: an entry has no empty ones. */
function aboutOf({ about }: GivenAct): About {
  return Object.fromEntries(Object.entries(about).filter(([, value]) => value !== undefined));
}

function answerOf(entry: Entry): ActAnswer {
  return { n: entry.n, entry };
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

function parsed<T>(schema: z.ZodType<T>, body: unknown): T {
  const result = schema.safeParse(body);
  if (result.success) return result.data;
  const [issue] = result.error.issues;
  throw refused(`body.${issue?.path.join('.') ?? ''}`, 'something else', issue?.message ?? '');
}

function refused(
  field: string,
  found: string,
  expected: string,
  code = 'bad-input',
  status: ActRefusal['status'] = 422,
): ActRefused {
  return new ActRefused({ status, code, field, found, expected });
}
