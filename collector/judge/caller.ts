import { callRules, type CallRule } from '@setwell/shared-models/call/call-rule';
import { nextTimer, type CauseTimer } from '@setwell/shared-models/call/call-timer';
import { callState, type Call } from '@setwell/shared-models/call/call';
import { standsFor } from '@setwell/shared-models/call/station-calls';
import { wishKey, type Wish } from '@setwell/shared-models/call/wish';
import type {
  CallCleared,
  CallHandedOn,
  CallKind,
  CallRaised,
  CallUnshelved,
} from '@setwell/shared-models/record/bodies';
import type { About } from '@setwell/shared-models/record/entry';
import type { Proposal } from '../ledger/shape.ts';
import type { LedgerFold } from './ledger-fold.ts';

/** Loads that began so near to each other are of one closing [ms]. */
const oneClosingMs = 60_000;

/** Kinds that all loads of a closing ask for together: one of them is called for all. */
const ofClosing: readonly CallKind[] = ['short-at-plan', 'pressure-lost'];

/** Kinds over which people decide on the load itself. */
const decidedWithLoad: readonly CallKind[] = [
  'ended-short',
  'ended-unproven',
  'ended-over',
  'load-faulted',
  'which-lot',
  'release-questioned',
  'readings-too-late',
  'pressure-lost',
  'precure',
  'piece-too-cold',
  'rest-incomplete',
];

/**
 * Calls people, each once, and lets them go when the cause is gone. What is wanted is told by pure
 * rules; here are its delays, its one cause, its latch, its shelf and who is called next.
 */
export class Caller {
  readonly #fold: LedgerFold;
  readonly #propose: (proposal: Proposal) => void;
  readonly #timers = new Map<string, CauseTimer>();

  constructor(fold: LedgerFold, propose: (proposal: Proposal) => void) {
    this.#fold = fold;
    this.#propose = propose;
  }

  /** A call that is up, by what it is about. */
  up(kind: CallKind, subject: string): Call | undefined {
    return [...this.#fold.calls.values()].find(
      ({ raised }) => raised.kind === kind && subjectOf(raised) === subject,
    );
  }

  /**
   * Brings what is up in line with what is wanted.
   *
   * @param gone why calls are let go whose cause is gone
   * @param suppressed the station is not in work: calls that hang on that are let go at once
   */
  settle(
    wishes: readonly Wish[],
    nowMs: number,
    gone: CallCleared['because'] = 'recovered',
    suppressed = false,
  ): void {
    const known = this.#index();
    for (const wish of wishes) {
      const key = wishKey(wish);
      const rule = callRules[wish.kind];
      const call = known.get(key);
      const hushed = suppressed && rule.suppressedByState;
      const present = hushed ? false : wish.present;
      const asked = { present, plannedMs: wish.plannedMs, up: call !== undefined };
      // What is over does not flutter: nothing looks at it again, so it is let go at once.
      const own = gone === 'over' ? { ...rule, offDelayS: 0 } : rule;
      const { timer, answer } = nextTimer(this.#timers.get(key), asked, own, nowMs);
      if (timer) this.#timers.set(key, timer);
      if (answer === 'raise') this.#raise(wish, nowMs, rule);
      if (call && hushed) this.#clear(call, 'suppressed');
      else if (call && answer === 'let-go') {
        if (wish.healed) this.#clear(call, gone);
        else this.#letGo(call, gone, rule);
      } else if (call && present) this.#regroup(call, wish, nowMs);
      if (!call && present !== true) this.#timers.delete(key);
    }
  }

  /** Shelves that end, and calls that nobody has taken. */
  lookRound(nowMs: number): void {
    for (const call of [...this.#fold.calls.values()]) {
      const { shelved } = call;
      if (shelved && shelved.untilMs <= nowMs) {
        const body: CallUnshelved = { because: 'ended', note: null };
        this.#say(call, 'call-unshelved', body);
      } else if (!shelved && mayHandOn(call, nowMs)) {
        const { handOn } = callRules[call.raised.kind];
        if (!handOn) continue;
        const afterMin = Math.round((nowMs - call.atMs) / 60_000);
        const body: CallHandedOn = { to: handOn.to, afterMin };
        this.#say(call, 'call-handed-on', body);
      }
    }
  }

  /** A call that needs no delay and is about one thing that has happened. */
  raiseOnce(kind: CallKind, subject: string, about: About, body: Wish['raised'], nowMs: number) {
    if (this.up(kind, subject)) return;
    const wish: Wish = { kind, subject, present: true, plannedMs: null, about, raised: body };
    this.#raise(wish, nowMs, callRules[kind]);
  }

  /** People have decided over a load: nobody needs to be called for it any more. */
  decided(load: string | undefined): void {
    if (load === undefined) return;
    for (const call of [...this.#fold.calls.values()]) {
      const { raised } = call;
      if (raised.load === load && decidedWithLoad.includes(raised.kind)) {
        this.#clear(call, 'decided');
      }
    }
  }

  /** What only waited for somebody to look is over; nothing can heal a refused event but reading it. */
  acknowledged(id: string | undefined): void {
    const call = this.#fold.calls.get(id ?? '');
    if (!call) return;
    if (call.raised.kind === 'event-refused') this.#clear(call, 'decided');
    else if (call.returnedMs !== null) this.#clear(call, 'over');
  }

  /** Lets every call about a load go: there never was such a load, or it is over. */
  forget(load: string, because: CallCleared['because'] = 'over'): void {
    for (const call of [...this.#fold.calls.values()]) {
      if (call.raised.load === load) this.#clear(call, because);
    }
  }

  /** @param told a person on a screen has been told already, and puts it right there */
  refused(id: string, about: About, body: CallRaised, told: boolean): void {
    this.#propose({ kind: 'call-raised', by: 'collector', about: { ...about, call: id }, body });
    const call = this.#fold.calls.get(id);
    if (told && call) this.#clear(call, 'over');
  }

  #index(): Map<string, Call> {
    const known = new Map<string, Call>();
    for (const call of this.#fold.calls.values()) {
      known.set(`${call.raised.kind}.${subjectOf(call.raised)}`, call);
    }
    return known;
  }

  #raise(wish: Wish, nowMs: number, { who }: CallRule): void {
    const { kind, subject } = wish;
    const cause = this.#causeOf(wish)?.id ?? null;
    const times = this.#fold.timesRaised(wish.raised.load ?? '', kind);
    const first = wish.raised.load === subject && times === 0;
    const { sinceMs } = wish.raised.values;
    const since = typeof sinceMs === 'number' ? sinceMs : nowMs;
    const again = wish.raised.load === subject ? String(times + 1) : String(since);
    const call = first ? `${kind}.${subject}` : `${kind}.${subject}.${again}`;
    const body: CallRaised = { kind, who, ...wish.raised, subject, ...(cause ? { cause } : {}) };
    this.#propose({ kind: 'call-raised', by: 'collector', about: { ...wish.about, call }, body });
  }

  /** The call that stands for this one: of a cause above it, or of another load of the same closing. */
  #causeOf({ kind, subject, raised }: Pick<Wish, 'kind' | 'subject' | 'raised'>): Call | null {
    for (const call of this.#fold.calls.values()) {
      const other = call.raised;
      if (other.station !== raised.station || call.raised.cause) continue;
      const children = standsFor[other.kind] ?? [];
      const samePoint = other.point === null || other.point === raised.point;
      if (children.includes(kind) && samePoint) return call;
      const twin = ofClosing.includes(kind) && other.kind === kind && other.load !== subject;
      if (twin && this.#sameClosing(other, raised)) return call;
    }
    return null;
  }

  #sameClosing(one: CallRaised, other: Wish['raised']): boolean {
    const startOf = (load: string | null) =>
      this.#fold.loads.get(load ?? '')?.opened.marks.pressureOn.earliestMs ?? NaN;
    const apartMs = Math.abs(startOf(one.load) - startOf(other.load));
    return apartMs <= oneClosingMs && one.tooLateMs === other.tooLateMs;
  }

  /** A cause that has come since stands for it; one that has gone leaves it to itself. */
  #regroup(call: Call, wish: Wish, nowMs: number): void {
    const { cause = null } = call.raised;
    const lost = cause !== null && !this.#fold.calls.has(cause);
    const found =
      cause === null && callState(call) === 'up' && !call.shelved ? this.#causeOf(wish) : null;
    const covered = found !== null && found.raised.kind !== call.raised.kind;
    if (!lost && !covered) return;
    this.#clear(call, 'regrouped');
    this.#raise(wish, nowMs, callRules[wish.kind]);
  }

  #letGo(call: Call, because: CallCleared['because'], { latches }: CallRule): void {
    if (!latches || call.acknowledged) this.#clear(call, because);
    else if (call.returnedMs === null) this.#say(call, 'call-returned', {});
  }

  #clear(call: Call, because: CallCleared['because']): void {
    const body: CallCleared = { because };
    this.#say(call, 'call-cleared', body);
  }

  #say({ id, raised }: Call, kind: Proposal['kind'], body: object): void {
    const { station, load, point } = raised;
    const about: About = {
      call: id,
      ...(station === null ? {} : { station }),
      ...(load === null ? {} : { load }),
      ...(point === null ? {} : { sensor: point }),
    };
    this.#propose({ kind, by: 'collector', about, body });
  }
}

/** What a call is about, within its kind; old entries say it by their load, point or station. */
function subjectOf({ subject, load, point, station }: CallRaised): string {
  return subject ?? load ?? point ?? station ?? '';
}

/** Nobody has it for as long as its kind waits, and never for more than half of the time that is left. */
function mayHandOn(call: Call, nowMs: number): boolean {
  const { raised, atMs, handedOn } = call;
  const { handOn } = callRules[raised.kind];
  if (!handOn || handedOn.length > 0 || raised.cause || callState(call) !== 'up') return false;
  const leftMs = raised.tooLateMs === null ? Infinity : raised.tooLateMs - atMs;
  const afterMs = Math.min(handOn.afterMin * 60_000, leftMs > 0 ? leftMs / 2 : Infinity);
  return nowMs - atMs >= afterMs;
}
