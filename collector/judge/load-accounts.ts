import { correctedOpening } from '@setwell/shared-models/record/corrections';
import {
  nextDecisions,
  undecided,
  type LoadDecisions,
} from '@setwell/shared-models/record/decisions';
import type {
  AdviceChanged,
  CallKind,
  LoadAmended,
  LoadCorrected,
  LoadEnded,
  LoadOpened,
  LoadSealed,
} from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { Marks } from '@setwell/shared-models/score/shape';

/** A load as the ledger tells it. */
export interface LoadAccount {
  /** As it counts now: with what was corrected since. */
  opened: LoadOpened;
  openedN: number;
  /** The collector's time of the start's entry: a start can be taken back within a minute of it. */
  openedAtMs: number;
  ended: LoadEnded | null;
  /** The collector's time of the end's entry: the deadline of sealing counts from it. */
  endedAtMs: number | null;
  /** As a person has put them right; null: as the events said. */
  marks: Marks | null;
  endMs: number | null;
  faulted: boolean;
  advice: { said: AdviceChanged; atMs: number } | null;
  /** How often each kind of call was raised for it. */
  raised: Map<CallKind, number>;
  decisions: LoadDecisions;
}

/** What is left of a load once it is sealed: enough to know it again. */
export interface FinishedLoad {
  station: string;
  lot: string;
  parts: string[];
  startMs: number;
  endMs: number;
  /** The account that counts. */
  sealed: LoadSealed;
  decisions: LoadDecisions;
  /** Acts that began and ended it. */
  acts: string[];
}

/** A sealed load while readings that come late may still change what is said of it. */
export interface RecentLoad {
  account: LoadAccount;
  /** The entry of the account that counts. */
  effective: Entry<LoadSealed | LoadAmended>;
  sealedAtMs: number;
  /** Batch up to which its first account knew the journal. */
  sealedUpTo: number;
  /** When it was amended last for readings that came; null: never. */
  amendedAtMs: number | null;
  /** Corrected by a person, and not judged again yet. */
  unanswered: { n: number; by: string } | null;
  finished: FinishedLoad;
}

/** Loads that a fold has let go, as the ledger still tells them. */
export interface OlderLoads {
  /** All that was said of a load, in its order. */
  entriesOfLoad(load: string): Entry[];
  /** Loads that are in a lot now. */
  loadsOf(lot: string): string[];
  /** The load that an act has begun or ended; null where it has done neither. */
  ofAct(act: string): string | null;
}

const noneOlder: OlderLoads = { entriesOfLoad: () => [], loadsOf: () => [], ofAct: () => null };

/** Readings change a sealed load by themselves for so long after the seal [ms]. */
export const amendableMs = 72 * 3_600_000;

/** Nothing older than this comes through a broker: then nobody needs to look at a sealed load again [ms]. */
export const keptMs = 14 * 86_400_000;

/** Loads as a fold of their entries; one that was sealed long ago is asked of the ledger. */
export class LoadAccounts {
  /** Open, or ended and not sealed. */
  readonly loads = new Map<string, LoadAccount>();
  /** Sealed within the last 14 days, and those that somebody asks for again; oldest first. */
  readonly recent = new Map<string, RecentLoad>();
  /** Taken back lately, each with the act that had begun it: neither name nor act is used again. */
  readonly voided = new Map<string, string | null>();
  readonly #older: OlderLoads;

  constructor(older: OlderLoads = noneOlder) {
    this.#older = older;
  }

  /** A load that is sealed; null where it is not, or nobody knows it. */
  finished(name: string): FinishedLoad | null {
    const recent = this.recent.get(name);
    if (recent || this.#knows(name)) return recent?.finished ?? null;
    return this.#again(name).recent.get(name)?.finished ?? null;
  }

  /** A load whose start was taken back: its name is not used again. */
  isVoided(name: string): boolean {
    return this.#knows(name) ? this.voided.has(name) : this.#again(name).voided.has(name);
  }

  #knows(name: string): boolean {
    return this.loads.has(name) || this.recent.has(name) || this.voided.has(name);
  }

  /** Sealed loads that are in a lot now. */
  finishedOf(lot: string): [string, FinishedLoad][] {
    const own = [...this.recent].filter(([, { finished }]) => finished.lot === lot);
    const names = new Set([...this.#older.loadsOf(lot), ...own.map(([name]) => name)]);
    return [...names].flatMap((name): [string, FinishedLoad][] => {
      const finished = this.finished(name);
      return finished?.lot === lot ? [[name, finished]] : [];
    });
  }

  /** The load that an act has begun or ended; null where it has done neither. */
  ofAct(act: string): string | null {
    for (const [name, { opened, ended }] of this.loads) {
      if (opened.act === act || ended?.act === act) return name;
    }
    for (const [name, { finished }] of this.recent) if (finished.acts.includes(act)) return name;
    for (const [name, began] of this.voided) if (began === act) return name;
    return this.#older.ofAct(act);
  }

  take(entry: Entry): void {
    const name = entry.about.load ?? '';
    if (entry.kind === 'load-opened') {
      this.loads.set(name, accountOf(entry as Entry<LoadOpened>));
      return;
    }
    const account = this.loads.get(name) ?? this.recent.get(name)?.account;
    if (entry.kind === 'load-corrected') this.#correct(name, entry as Entry<LoadCorrected>);
    if (entry.kind === 'load-amended') this.#amend(name, entry as Entry<LoadAmended>);
    if (entry.kind === 'disposition') this.#decide(name, entry);
    if (!account) return;
    if (entry.kind === 'load-ended') {
      account.ended = entry.body as LoadEnded;
      account.endedAtMs = entry.at;
    } else if (entry.kind === 'load-sealed') {
      this.#seal(account, entry as Entry<LoadSealed>);
    } else if (entry.kind === 'load-faulted') {
      account.faulted = true;
    } else if (entry.kind === 'advice-changed') {
      account.advice = { said: entry.body as AdviceChanged, atMs: entry.at };
    }
  }

  /** What was taken before the writer had numbered it gets its number. */
  number(entry: Entry): void {
    const name = entry.about.load ?? '';
    const account = this.loads.get(name);
    if (entry.kind === 'load-opened' && account) account.openedN = entry.n;
    const recent = this.recent.get(name);
    if (!recent || (entry.kind !== 'load-sealed' && entry.kind !== 'load-amended')) return;
    recent.effective = entry as Entry<LoadSealed>;
  }

  /** What the ledger tells of a load that was let go, up to before an entry. */
  #again(name: string, beforeN = Infinity): LoadAccounts {
    const again = new LoadAccounts();
    for (const entry of this.#older.entriesOfLoad(name)) if (entry.n < beforeN) again.take(entry);
    return again;
  }

  #seal(account: LoadAccount, entry: Entry<LoadSealed>): void {
    const { load, station, lot, parts, act } = account.opened;
    const { startMs, endMs } = entry.body;
    const acts = [act, account.ended?.act ?? null].filter((one) => one !== null);
    const { decisions } = account;
    const finished = { station, lot, parts, startMs, endMs, sealed: entry.body, decisions, acts };
    const sealedAtMs = entry.at;
    this.recent.set(load, {
      account,
      effective: entry,
      sealedAtMs,
      sealedUpTo: entry.body.readings.journalUpTo,
      amendedAtMs: null,
      unanswered: null,
      finished,
    });
    this.loads.delete(load);
    for (const [name, { sealedAtMs: ms }] of this.recent) {
      if (ms + keptMs > entry.at) break;
      this.recent.delete(name);
    }
  }

  #amend(name: string, entry: Entry<LoadAmended>): void {
    const recent = this.recent.get(name);
    if (!recent) return;
    const { finished } = recent;
    const { verdict } = finished.sealed;
    finished.decisions = nextDecisions(finished.decisions, entry, verdict, finished.parts);
    finished.sealed = entry.body;
    finished.endMs = entry.body.endMs;
    finished.startMs = entry.body.startMs;
    recent.effective = entry;
    recent.unanswered = null;
    if (typeof entry.body.because === 'string') recent.amendedAtMs = entry.at;
  }

  #correct(name: string, { body, n, by }: Entry<LoadCorrected>): void {
    const { change } = body;
    const again = this.#knows(name) ? null : this.#again(name, n).recent.get(name);
    if (again) this.recent.set(name, again);
    const account = this.loads.get(name) ?? this.recent.get(name)?.account;
    if (change.what === 'void') {
      this.voided.set(name, account?.opened.act ?? null);
      this.loads.delete(name);
      return;
    }
    if (!account) return;
    account.opened = correctedOpening(account.opened, change);
    if (change.what === 'marks') {
      const before = account.marks ?? account.ended?.marks ?? account.opened.marks;
      account.marks = { ...before, ...change.marks };
      account.endMs = change.endMs;
    }
    const recent = this.recent.get(name);
    if (!recent) return;
    recent.unanswered = { n, by };
    if (change.what === 'lot') {
      recent.finished.lot = change.lot;
      recent.finished.parts = change.parts;
    }
  }

  #decide(name: string, entry: Entry): void {
    const account = this.loads.get(name);
    if (account) {
      const { parts } = account.opened;
      account.decisions = nextDecisions(account.decisions, entry, null, parts);
    }
    const finished = this.recent.get(name)?.finished;
    if (finished) {
      const { verdict } = finished.sealed;
      finished.decisions = nextDecisions(finished.decisions, entry, verdict, finished.parts);
    }
  }
}

function accountOf({ body, n, at }: Entry<LoadOpened>): LoadAccount {
  return {
    opened: body,
    openedN: n,
    openedAtMs: at,
    ended: null,
    endedAtMs: null,
    marks: null,
    endMs: null,
    faulted: false,
    advice: null,
    raised: new Map(),
    decisions: undecided,
  };
}
