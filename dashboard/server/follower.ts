import { plantMs } from '@setwell/shared-models/api/clock';
import type { Hello, Judgement, StationNow } from '@setwell/shared-models/api/collector';
import type { LiveLink } from '@setwell/shared-models/api/floor';
import type { ScoreResult } from '@setwell/shared-models/score/shape';
import type { CollectorClient } from './collector-client.ts';
import { CollectorError } from './collector-client.ts';
import { floorLoad } from './floor-load.ts';
import type { LiveFeed } from './live-feed.ts';
import type { SealedRevision } from './load-view.ts';
import type { Changed, ViewDb } from './view-db.ts';

const retryLeastMs = 250;
const retryMostMs = 5_000;
/** Lines folded in one transaction. */
const foldSize = 500;
/**
 * How long a ledger that answers may take to show the entry we hold last, before it counts as another one. A
 * collector that has not begun to answer is slow, and screens keep what they show.
 */
const knownEntryWithinMs = 3_000;

/** A judge that is so late is said to be; advice at the stations says so after the same time [wall ms]. */
const judgedLateMs = 5_000;

export interface FollowerParts {
  client: CollectorClient;
  view: ViewDb;
  feed: LiveFeed;
  greetEveryMs: number;
  knownEntryWithinMs?: number | undefined;
  log: (line: string) => void;
}

/** The server's one tie to a collector: greets it, follows its ledger and its judge, and comes back after every loss. */
export class Follower {
  readonly #parts: FollowerParts;
  #hello: Hello | null = null;
  #link: LiveLink = { collector: 'connecting', sinceMs: null, trouble: null, broker: null };
  #stopped = false;
  #stops: (() => void)[] = [];
  #timers = new Set<NodeJS.Timeout>();
  #lines: string[] = [];
  #foldQueued = false;
  readonly #judgements = new Map<string, Judgement>();
  readonly #results = new Map<string, { revision: number; result: ScoreResult }>();
  #clockOffMs = 0;

  constructor(parts: FollowerParts) {
    this.#parts = parts;
  }

  start(): void {
    void this.#greetForEver();
    this.#followForEver('/follow/judgements', (line) => this.#onJudge(line));
    void this.#followLedgerForEver();
  }

  stop(): void {
    this.#stopped = true;
    for (const stop of this.#stops) stop();
    for (const timer of this.#timers) clearTimeout(timer);
  }

  get hello(): Hello | null {
    return this.#hello;
  }

  get connected(): boolean {
    return this.#link.collector === 'connected';
  }

  /** Plant time by the collector's clock [ms]; the wall clock until it has greeted. */
  nowMs(): number {
    const hello = this.#hello;
    return hello === null ? Date.now() : plantMs(hello.clock, Date.now()) + this.#clockOffMs;
  }

  judgement(load: string): Judgement | null {
    return this.#judgements.get(load) ?? null;
  }

  /** The title of a recipe as the collector names it. */
  recipeTitle(id: string | undefined): string {
    return this.#hello?.recipes.find((recipe) => recipe.id === id)?.title ?? id ?? '';
  }

  async #greetForEver(): Promise<void> {
    while (!this.#stopped) {
      const askedMs = Date.now();
      try {
        const hello = (await this.#parts.client.ask('/hello')) as Hello;
        const meantMs = plantMs(hello.clock, (askedMs + Date.now()) / 2);
        // A collector on another machine: its clock counts, not this one's.
        const offMs = hello.nowMs - meantMs;
        this.#clockOffMs = Math.abs(offMs) > 1_000 * hello.clock.rate ? offMs : 0;
        const trouble = await this.#trouble();
        if (!this.#stopped) this.#onHello(hello, trouble);
      } catch (error) {
        if (error instanceof CollectorError) this.#setGone();
        else throw error;
      }
      await this.#pause(this.#parts.greetEveryMs);
    }
  }

  /** The collector's own word that it is not ready; null while it is, or says nothing about it. */
  async #trouble(): Promise<string | null> {
    try {
      await this.#parts.client.fetch('/health/ready');
      return null;
    } catch (error) {
      if (!(error instanceof CollectorError) || error.status !== 503) return null;
      const body = error.body;
      return typeof body === 'object' && body !== null && 'because' in body
        ? String(body.because)
        : 'not ready';
    }
  }

  #onHello(hello: Hello, trouble: string | null): void {
    const before = this.#hello;
    this.#hello = hello;
    const { site, stations, recipes, version, collector, clock } = hello;
    const shifted = { ...clock, originMs: clock.originMs + this.#clockOffMs };
    const next = { site, stations, recipes, version, collector, clock: shifted };
    const isNew = JSON.stringify(next) !== JSON.stringify(this.#parts.feed.state.site);
    // What has changed is told with the entries that changed it, not before them.
    if (before === null || (isNew && this.#hasFolded(hello))) this.#parts.feed.put({ site: next });
    this.#setLink({
      collector: 'connected',
      sinceMs: this.#link.collector === 'connected' ? this.#link.sinceMs : this.nowMs(),
      trouble,
      broker: hello.broker,
      ...this.#judged(hello),
    });
  }

  #hasFolded({ log, entries = 0 }: Hello): boolean {
    const last = this.#parts.view.last(log);
    return (last === null ? 0 : last.n + 1) >= entries;
  }

  /** As long as the judge lags it is one moment from which what is shown is. */
  #judged({ judgeBehindMs = 0, clock }: Hello): Pick<LiveLink, 'judgedMs'> {
    if (judgeBehindMs <= judgedLateMs * clock.rate) return {};
    return { judgedMs: this.#link.judgedMs ?? Math.round(this.nowMs() - judgeBehindMs) };
  }

  #setGone(): void {
    if (this.#link.collector === 'gone') return;
    this.#setLink({ ...this.#link, collector: 'gone', sinceMs: this.nowMs(), trouble: null });
  }

  #setLink(link: LiveLink): void {
    if (JSON.stringify(link) === JSON.stringify(this.#link)) return;
    this.#link = link;
    this.#parts.feed.put({ link });
  }

  #followForEver(path: string, onLine: (line: string) => void): void {
    let retryMs = retryLeastMs;
    const open = (): void => {
      if (this.#stopped) return;
      const stop = this.#parts.client.follow(
        path,
        (line) => {
          retryMs = retryLeastMs;
          onLine(line);
        },
        () => {
          this.#stops = this.#stops.filter((other) => other !== stop);
          this.#later(retryMs, open);
          retryMs = Math.min(retryMostMs, retryMs * 2);
        },
      );
      this.#stops.push(stop);
    };
    open();
  }

  async #followLedgerForEver(): Promise<void> {
    let retryMs = retryLeastMs;
    while (!this.#stopped) {
      const log = this.#hello?.log;
      if (log !== undefined && (await this.#followLedger(log))) retryMs = retryLeastMs;
      await this.#pause(retryMs);
      retryMs = Math.min(retryMostMs, retryMs * 2);
    }
  }

  /**
   * Follows one log until it ends; answers whether anything came. Asks from the entry held last, so that
   * the first line shows whether this is still the ledger that was folded; if not, the view is folded anew.
   */
  #followLedger(log: string): Promise<boolean> {
    return new Promise((resolve) => {
      const last = this.#parts.view.last(log);
      let known = last === null;
      let came = false;
      const another = (): void => {
        this.#parts.log(
          `the ledger ${log} is not the one followed before: the view is folded anew`,
        );
        this.#forget();
        stop();
      };
      const { knownEntryWithinMs: withinMs = knownEntryWithinMs } = this.#parts;
      let doubt: NodeJS.Timeout | null = null;
      const stop = this.#parts.client.follow(
        `/follow/ledger?after=${last === null ? -1 : last.n - 1}`,
        (line) => {
          came = true;
          if (!known) {
            if (doubt !== null) this.#cancel(doubt);
            known = true;
            if (line !== last?.bytes) another();
            return;
          }
          this.#onEntry(line);
        },
        () => {
          if (doubt !== null) this.#cancel(doubt);
          this.#stops = this.#stops.filter((other) => other !== stop);
          resolve(came);
        },
        () => {
          if (!known) doubt = this.#later(withinMs, another);
        },
      );
      this.#stops.push(stop);
    });
  }

  #forget(): void {
    this.#lines = [];
    this.#judgements.clear();
    this.#results.clear();
    this.#parts.view.rebuild();
    const { loads, calls } = this.#parts.feed.state;
    this.#parts.feed.put({ loads: nulls(loads), calls: nulls(calls) });
  }

  #onEntry(line: string): void {
    this.#lines.push(line);
    if (this.#lines.length >= foldSize) this.#foldLines();
    else if (!this.#foldQueued) {
      this.#foldQueued = true;
      setImmediate(() => this.#foldLines());
    }
  }

  #foldLines(): void {
    this.#foldQueued = false;
    const lines = this.#lines;
    if (lines.length === 0 || this.#stopped) return;
    this.#lines = [];
    this.#tell(this.#parts.view.fold(lines));
  }

  /** The state that screens start from after a start of the server: what the view already knows. */
  tellKnown(): void {
    const loads = new Map(this.#parts.view.openLoads().map((load) => [load.id, load]));
    const calls = new Map(this.#parts.view.openCalls().map((call) => [call.id, call]));
    this.#tell({ loads, calls });
  }

  #tell(changed: Changed): void {
    const calls = Object.fromEntries(
      [...changed.calls.values()].map((call) => [call.id, call.cleared === null ? call : null]),
    );
    if (changed.calls.size > 0) this.#parts.feed.put({ calls });
    const loads = new Set(changed.loads.keys());
    for (const call of changed.calls.values()) if (call.load !== null) loads.add(call.load);
    for (const load of loads) this.#tellLoad(load);
  }

  #onJudge(line: string): void {
    const said = JSON.parse(line) as Judgement | StationNow;
    switch (said.type) {
      case 'judgement':
        this.#judgements.set(said.load, said);
        this.#tellLoad(said.load);
        return;
      case 'station':
        this.#parts.feed.put({ stations: { [said.station]: said } });
        return;
    }
  }

  /** A load is shown while it is open or a call about it is; its record is fetched once where a bar needs it. */
  #tellLoad(id: string): void {
    const view = this.#parts.view.load(id);
    const judgement = this.#judgements.get(id) ?? null;
    const ended = view !== null ? view.state !== 'open' : judgement?.state !== 'open';
    const isVoid = view !== null && view.voided !== null;
    const called = Object.values(this.#parts.feed.state.calls).some((call) => call.load === id);
    if (isVoid || (ended && !called)) {
      this.#judgements.delete(id);
      this.#results.delete(id);
      if (id in this.#parts.feed.state.loads) this.#parts.feed.put({ loads: { [id]: null } });
      return;
    }
    const sealed = view?.revisions[view.revisions.length - 1];
    const kept = this.#results.get(id);
    const result = sealed !== undefined && kept?.revision === sealed.revision ? kept.result : null;
    if (sealed !== undefined && result === null) void this.#fetchResult(id, sealed);
    const title = this.recipeTitle(view?.recipe?.id);
    this.#parts.feed.put({ loads: { [id]: floorLoad(view, judgement, result, title) } });
  }

  async #fetchResult(load: string, sealed: SealedRevision): Promise<void> {
    try {
      const result = (await this.blob(sealed.result.sha256)) as ScoreResult;
      this.#results.set(load, { revision: sealed.revision, result });
      this.#tellLoad(load);
    } catch (error) {
      // The row stands without its bar; the next word about the load tries again.
      if (!(error instanceof CollectorError)) throw error;
    }
  }

  /** A JSON document named by an entry; kept once fetched. */
  async blob(sha256: string): Promise<unknown> {
    const kept = this.#parts.view.blob(sha256);
    if (kept !== null) return JSON.parse(kept.toString('utf8')) as unknown;
    const { body } = await this.#parts.client.fetch(`/blob/${sha256}`);
    this.#parts.view.keepBlob(sha256, body);
    return JSON.parse(body.toString('utf8')) as unknown;
  }

  #later(delayMs: number, callback: () => void): NodeJS.Timeout {
    const timer = setTimeout(() => {
      this.#timers.delete(timer);
      callback();
    }, delayMs);
    this.#timers.add(timer);
    return timer;
  }

  #cancel(timer: NodeJS.Timeout): void {
    clearTimeout(timer);
    this.#timers.delete(timer);
  }

  #pause(delayMs: number): Promise<void> {
    return new Promise((resolve) => {
      this.#later(delayMs, resolve);
    });
  }
}

function nulls(record: Record<string, unknown>): Record<string, null> {
  return Object.fromEntries(Object.keys(record).map((key) => [key, null]));
}
