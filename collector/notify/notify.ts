import { join } from 'node:path';
import { callState, nextCall, type Call } from '@setwell/shared-models/call/call';
import type { ToldPeople } from '@setwell/shared-models/api/outbox';
import type { Job } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { Tell, TellRoute } from '@setwell/shared-models/plant/tell-schema';
import { localTime } from '../export/local-time.ts';
import type { Collected, Part } from '../part.ts';
import { Refused } from '../serve/refused.ts';
import type { Route } from '../serve/route.ts';
import { json } from '../serve/server.ts';
import { backOffMs } from '../uplink/back-off.ts';
import { mailer, secretIn, type Mail } from './mail.ts';
import { Outbox, type OutboxMessage } from './outbox.ts';
import { isWithin, plantTimeIn, shiftRuns, untilClockMs, type PlantTime } from './plant-time.ts';
import { TellError } from './tell-error.ts';
import { postWebhook } from './webhook.ts';
import { testWords, wordsOf, type Words } from './words.ts';

/** What was called longer ago was told by whoever ran then [ms]. */
const freshMs = 10 * 60_000;
/** A message that nobody takes for so long is given up, and says so [ms]. */
const givenUpAfterMs = 24 * 3_600_000;
const atOnce = 20;
const lookEveryMs = 5_000;
/** Calls that are over are forgotten here after so many; the ledger has them all. */
const mostCalls = 5_000;

type PersonRoute = Exclude<TellRoute, { by: 'lamp' }>;

/**
 * Tells people of calls away from the screens: by mail, by a signed webhook, by a lamp's topic.
 *
 * A call and its state are told once a route, whatever restarts: the outbox remembers. What a call
 * stands for is not told, nor what is put aside.
 */
export class Notify implements Part {
  readonly #collected: Collected;
  readonly #routes: readonly TellRoute[];
  readonly #outbox: Outbox | null;
  #send: ((mail: Mail) => Promise<void>) | null = null;
  readonly #plantTime: (ms: number) => PlantTime;
  readonly #calls = new Map<string, Call>();
  readonly #lamps = new Map<string, string>();
  #started = false;
  /** Deliveries under way, by route. */
  readonly #busy = new Map<string, Promise<void>>();
  #cancel: (() => void) | null = null;

  constructor(collected: Collected) {
    this.#collected = collected;
    const tell: Tell | undefined = collected.plant.tell;
    this.#routes = tell?.routes ?? [];
    const persons = this.#routes.some(({ by }) => by !== 'lamp');
    this.#outbox = persons ? new Outbox(join(collected.dataDir, 'outbox.db')) : null;
    this.#plantTime = plantTimeIn(collected.plant.site.timeZone);
  }

  hear(entries: Entry[]): void {
    if (this.#routes.length === 0) return;
    for (const entry of entries) {
      const id = entry.about.call;
      if (id === undefined) continue;
      const next = nextCall(this.#calls.get(id), entry);
      if (!next) continue;
      this.#calls.set(id, next);
      if (this.#started) this.#owe(next, entry);
    }
    this.#forget();
  }

  start(): void {
    if (this.#routes.length === 0) return;
    this.#started = true;
    const nowMs = this.#collected.clock.nowMs();
    // A crash between the entry and the outbox must not silence a call that has just come.
    for (const call of this.#calls.values()) {
      if (callState(call) !== 'up') continue;
      if (nowMs - call.atMs < freshMs) this.#oweRaised(call);
      const handed = call.handedOn.at(-1);
      if (handed && nowMs - handed.atMs < freshMs) this.#oweHandedOn(call, handed.to);
    }
    this.#round();
  }

  connected(): void {
    this.#lamps.clear();
    this.#light();
  }

  async stop(): Promise<void> {
    this.#cancel?.();
    this.#started = false;
    await Promise.all(this.#busy.values());
    this.#outbox?.close();
  }

  routes(): Route[] {
    return [
      {
        method: 'GET',
        path: '/outbox',
        answer: (asked) => {
          const limit = asked.integer('limit', { from: 1, to: 1000, otherwise: 100 });
          return json(this.#shown(limit));
        },
      },
      {
        method: 'POST',
        path: '/outbox/test',
        answer: (_asked, body) => json({ stored: true, key: this.#test(body) }, 202),
      },
    ];
  }

  #shown(limit: number): ToldPeople {
    const messages = (this.#outbox?.all(limit) ?? []).map((message) => {
      const { id, route, madeMs, dueMs, tries, sentMs, givenUpMs, fault } = message;
      const ids = JSON.parse(message.calls) as string[];
      const known = ids.flatMap((each) => this.#calls.get(each) ?? []);
      const about = known.map(({ raised, atMs }) => ({ ...raised, raisedMs: atMs }));
      const state = { madeMs, dueMs, tries, sentMs, givenUpMs, fault };
      return { id, route, about, isTest: ids.length === 0, ...state };
    });
    return {
      nowMs: this.#collected.clock.nowMs(),
      routes: this.#routes.map(({ id, by, jobs }) => ({ id, by, jobs })),
      messages,
    };
  }

  /** Owes a message that tells nothing but that it arrives. */
  #test(body: unknown): string {
    const wanted = typeof body === 'object' && body !== null && 'route' in body ? body.route : null;
    const route = this.#routes.find(({ id, by }) => id === wanted && by !== 'lamp');
    if (!route) {
      const known = this.#routes.filter(({ by }) => by !== 'lamp').map(({ id }) => id);
      const expected = known.length === 0 ? 'a route of plant.yaml' : `one of: ${known.join(', ')}`;
      throw new Refused(422, 'unknown-route', 'route', String(wanted), expected);
    }
    const nowMs = this.#collected.clock.nowMs();
    const key = `test.${String(nowMs)}`;
    this.#outbox?.add(route.id, key, [], nowMs, nowMs);
    this.#deliver();
    return key;
  }

  #owe(call: Call, entry: Entry): void {
    if (entry.kind === 'call-raised') this.#oweRaised(call);
    if (entry.kind === 'call-handed-on') {
      const to = call.handedOn.at(-1)?.to;
      if (to) this.#oweHandedOn(call, to);
    }
    this.#light();
  }

  #oweHandedOn(call: Call, to: Job): void {
    this.#oweTo(call, to, `handed-on.${to}`);
  }

  #oweRaised(call: Call): void {
    this.#oweTo(call, call.raised.who, 'raised');
  }

  #oweTo(call: Call, job: Job, state: string): void {
    if (call.raised.cause) return;
    const nowMs = this.#collected.clock.nowMs();
    const time = this.#plantTime(nowMs);
    for (const route of this.#routes) {
      if (route.by === 'lamp' || !isFor(route, call, job) || !this.#isOnShift(route, time))
        continue;
      this.#outbox?.add(
        route.id,
        `${call.id}.${state}`,
        [call.id],
        nowMs,
        dueMs(route, time, nowMs),
      );
    }
    this.#deliver();
  }

  #isOnShift({ shifts }: PersonRoute, time: PlantTime): boolean {
    if (!shifts) return true;
    const calendar = this.#collected.plant.shifts ?? [];
    return calendar.some((shift) => shifts.includes(shift.id) && shiftRuns(shift, time));
  }

  #round(): void {
    this.#deliver();
    this.#light();
    const everyMs = lookEveryMs * this.#collected.clockSetting.rate;
    this.#cancel = this.#collected.clock.after(everyMs, () => this.#round());
  }

  /** One delivery at a time on each route, so that one that hangs delays no other; the next look goes on. */
  #deliver(): void {
    if (!this.#started || !this.#outbox) return;
    const nowMs = this.#collected.clock.nowMs();
    for (const route of this.#outbox.owing(nowMs)) {
      if (this.#busy.has(route)) continue;
      const delivery = this.#deliverDue(route, nowMs).finally(() => this.#busy.delete(route));
      this.#busy.set(route, delivery);
    }
  }

  async #deliverDue(route: string, nowMs: number): Promise<void> {
    const owed = this.#outbox?.due(route, nowMs, atOnce) ?? [];
    for (const messages of together(owed, this.#routes)) {
      if (this.#started) await this.#deliverOne(messages, nowMs);
    }
  }

  async #deliverOne(messages: OutboxMessage[], nowMs: number): Promise<void> {
    const [first] = messages;
    const route = this.#routes.find(({ id }) => id === first?.route);
    if (!first || !this.#outbox) return;
    const fault = route && route.by !== 'lamp' ? await this.#try(route, messages) : gone;
    for (const { id, madeMs, tries } of messages) {
      if (fault === null) this.#outbox.sent(id, nowMs);
      else if (!fault.retryable || nowMs - madeMs > givenUpAfterMs) {
        this.#outbox.givenUp(id, fault.message, nowMs);
      } else {
        const wait = backOffMs(tries + 1, 0.5, null) * this.#collected.clockSetting.rate;
        this.#outbox.failed(id, fault.message, nowMs + wait);
      }
    }
  }

  /** Null when it has arrived. */
  async #try(route: PersonRoute, messages: OutboxMessage[]): Promise<TellError | null> {
    const ids = messages.flatMap(({ calls }) => JSON.parse(calls) as string[]);
    const calls = ids.flatMap((id) => this.#calls.get(id) ?? []);
    const { timeZone } = this.#collected.plant.site;
    const words =
      ids.length === 0
        ? testWords(route.language)
        : wordsOf(calls, route.language, (ms) => localTime(ms, timeZone));
    try {
      if (route.by === 'mail') await this.#mail(route.to, words);
      else await this.#post(route, words, calls, messages);
      return null;
    } catch (error) {
      if (error instanceof TellError) return error;
      throw error;
    }
  }

  async #mail(to: readonly string[], words: Words): Promise<void> {
    const server = this.#collected.plant.tell?.mail;
    if (!server) throw new TellError('plant.yaml names no mail server', false);
    this.#send ??= mailer(server, secretIn(server.passwordFile));
    await this.#send({ to, ...words });
  }

  async #post(
    { url, secretFile, allow }: Extract<PersonRoute, { by: 'webhook' }>,
    { subject, text }: Words,
    calls: Call[],
    messages: OutboxMessage[],
  ): Promise<void> {
    const secret = secretIn(secretFile) ?? '';
    const told = calls.map(({ id, raised, atMs, handedOn }) => ({ id, atMs, handedOn, ...raised }));
    const keys = messages.map(({ key }) => key);
    const value = { advisory: true, subject, text, keys, calls: told };
    await postWebhook({ url, secret, allow }, value, Date.now());
  }

  /** Retained, and only when it changes: a lamp that burns says that somebody is called. */
  #light(): void {
    if (!this.#started) return;
    for (const route of this.#routes) {
      if (route.by !== 'lamp') continue;
      const up = [...this.#calls.values()].filter(
        (call) =>
          ['up', 'taken'].includes(callState(call)) &&
          !call.shelved &&
          !call.raised.cause &&
          isFor(route, call, call.raised.who),
      );
      const waiting = up.filter((call) => callState(call) === 'up').length;
      const on = waiting > 0 ? 'called' : up.length > 0 ? 'taken' : 'off';
      const said = JSON.stringify({ advisory: true, state: on, calls: up.length, waiting });
      if (this.#lamps.get(route.id) === said) continue;
      this.#lamps.set(route.id, said);
      this.#collected.publish(route.topic, said);
    }
  }

  #forget(): void {
    if (this.#calls.size <= mostCalls) return;
    for (const [id, call] of this.#calls) {
      if (this.#calls.size <= mostCalls / 2) return;
      if (call.cleared) this.#calls.delete(id);
    }
  }
}

const gone = new TellError('plant.yaml has this route no more', false);

function isFor({ jobs, kinds, stations }: TellRoute, { raised }: Call, job: Job): boolean {
  return (
    jobs.includes(job) &&
    (kinds?.includes(raised.kind) ?? true) &&
    (stations?.includes(raised.station ?? '') ?? true)
  );
}

/** At once; at the end of the quiet hours; or with the day's digest. */
function dueMs({ quiet, digest }: PersonRoute, time: PlantTime, nowMs: number): number {
  if (digest !== undefined) return nowMs + untilClockMs(digest, time);
  if (quiet && isWithin(time.minute, quiet)) return nowMs + untilClockMs(quiet.to, time);
  return nowMs;
}

/** What waited for a digest or for the end of the quiet hours goes out as one message. */
function together(owed: OutboxMessage[], routes: readonly TellRoute[]): OutboxMessage[][] {
  const groups = new Map<string, OutboxMessage[]>();
  for (const message of owed) {
    const route = routes.find(({ id }) => id === message.route);
    const waits = route && route.by !== 'lamp' && (route.digest ?? route.quiet) !== undefined;
    const waited = waits && message.calls !== '[]' && message.dueMs > message.madeMs;
    const key = waited ? message.route : `${message.route} ${String(message.id)}`;
    groups.set(key, [...(groups.get(key) ?? []), message]);
  }
  return [...groups.values()];
}
