import { nextCall, type Call } from '@setwell/shared-models/call/call';
import type {
  AdviceChanged,
  CallKind,
  JournalPlace,
  LoadEnded,
  LoadOpened,
  LoadSealed,
  PlantRevised,
  RecipeApproved,
  RecipeProposed,
  RecipeRef,
} from '@setwell/shared-models/record/bodies';
import type { CarriedFace } from '@setwell/shared-models/score/shape';
import type { Entry } from '@setwell/shared-models/record/entry';

/** A load as the ledger tells it. */
export interface LoadAccount {
  opened: LoadOpened;
  openedN: number;
  ended: LoadEnded | null;
  /** The collector's time of the end's entry: the deadline of sealing counts from it. */
  endedAtMs: number | null;
  faulted: boolean;
  advice: AdviceChanged | null;
  /** How often each kind of call was raised for it. */
  raised: Map<CallKind, number>;
}

export interface RecipeRevision {
  ref: RecipeRef;
  title: string;
  approved: boolean;
}

/** What is left of a load once it is sealed: enough to know it again. */
export interface FinishedLoad {
  station: string;
  lot: string;
  startMs: number;
  endMs: number;
  sealed: LoadSealed;
}

/** What was done and said so far. May be thrown away: any fold of the same entries is the same. */
export class LedgerFold {
  /** Loads that are open, or ended and not sealed. */
  readonly loads = new Map<string, LoadAccount>();
  readonly finished = new Map<string, FinishedLoad>();
  /** Only calls that are up; a cleared one is history. */
  readonly calls = new Map<string, Call>();
  /** Revisions by recipe, oldest first. */
  readonly recipes = new Map<string, RecipeRevision[]>();
  /** What the last closing of each zone has left of its tools. */
  readonly #carried = new Map<string, CarriedFace>();
  plantSha256: string | null = null;
  /** Greatest place of the journal that an entry names: every event up to it has had its answer. */
  cursor: JournalPlace = { seq: 0, index: -1 };

  hear(entries: Entry[]): void {
    for (const entry of entries) this.take(entry);
  }

  take(entry: Entry): void {
    const { kind } = entry;
    if (kind === 'plant-revised') this.plantSha256 = (entry.body as PlantRevised).sha256;
    else if (kind.startsWith('recipe-')) this.#takeRecipe(entry);
    else if (kind.startsWith('call-')) this.#takeCall(entry);
    else if (kind.startsWith('load-') || kind === 'advice-changed') this.#takeLoad(entry);
  }

  /** What was taken before the writer had numbered it gets its number. */
  number(entry: Entry): void {
    const account = this.loads.get(entry.about.load ?? '');
    if (entry.kind === 'load-opened' && account) account.openedN = entry.n;
    const call = this.calls.get(entry.about.call ?? '');
    if (entry.kind === 'call-raised' && call) {
      this.calls.set(call.id, { ...call, n: entry.n, atMs: entry.at });
    }
  }

  /** How often a load has asked for a call of this kind: a second one needs a name of its own. */
  timesRaised(load: string, kind: CallKind): number {
    return this.loads.get(load)?.raised.get(kind) ?? 0;
  }

  /** The revision a load may start with: the one named, or the newest that is approved. */
  approvedRecipe(id: string, revision: number | null): RecipeRevision | null {
    const approved = (this.recipes.get(id) ?? []).filter((candidate) => candidate.approved);
    if (revision === null) return approved.at(-1) ?? null;
    return approved.find((candidate) => candidate.ref.revision === revision) ?? null;
  }

  /** What a load that opens finds of the closings before it. */
  carriedTo(opened: LoadOpened): CarriedFace[] {
    return opened.zones.flatMap((zone) => this.#carried.get(placeOf(opened, zone)) ?? []);
  }

  #takeRecipe(entry: Entry): void {
    const { recipe } = entry.body as RecipeApproved;
    const revisions = this.recipes.get(recipe.id) ?? [];
    this.recipes.set(recipe.id, revisions);
    if (entry.kind === 'recipe-proposed') {
      const { title } = entry.body as RecipeProposed;
      revisions.push({ ref: recipe, title, approved: false });
      return;
    }
    const revision = revisions.find(({ ref }) => ref.revision === recipe.revision);
    if (revision) revision.approved = entry.kind === 'recipe-approved';
  }

  #takeLoad(entry: Entry): void {
    if (entry.kind === 'load-opened') {
      const opened = entry.body as LoadOpened;
      this.#passed(opened.event);
      this.loads.set(opened.load, {
        opened,
        openedN: entry.n,
        ended: null,
        endedAtMs: null,
        faulted: false,
        advice: null,
        raised: new Map(),
      });
      return;
    }
    const account = this.loads.get(entry.about.load ?? '');
    if (!account) return;
    if (entry.kind === 'load-ended') {
      account.ended = entry.body as LoadEnded;
      account.endedAtMs = entry.at;
      for (const face of account.ended.carried ?? []) {
        this.#carried.set(placeOf(account.opened, face.zone), face);
      }
      this.#passed(account.ended.event);
    } else if (entry.kind === 'load-sealed') {
      const { station, lot, load } = account.opened;
      const sealed = entry.body as LoadSealed;
      const { startMs, endMs } = sealed;
      this.finished.set(load, { station, lot, startMs, endMs, sealed });
      this.loads.delete(load);
    } else if (entry.kind === 'load-faulted') {
      account.faulted = true;
    } else if (entry.kind === 'advice-changed') {
      account.advice = entry.body as AdviceChanged;
    }
  }

  #takeCall(entry: Entry): void {
    const id = entry.about.call;
    if (id === undefined) return;
    const call = nextCall(this.calls.get(id), entry);
    if (!call || call.cleared) this.calls.delete(id);
    else this.calls.set(id, call);
    if (entry.kind === 'call-raised' && call) {
      const { kind, load } = call.raised;
      const account = this.loads.get(load ?? '');
      account?.raised.set(kind, (account.raised.get(kind) ?? 0) + 1);
      const { seq, index } = call.raised.values;
      if (typeof seq === 'number' && typeof index === 'number') this.#passed({ seq, index });
    }
  }

  #passed(place: JournalPlace): void {
    if (isAfter(place, this.cursor)) this.cursor = place;
  }
}

function placeOf({ station, opening }: LoadOpened, zone: string): string {
  return `${station} ${opening ?? ''} ${zone}`;
}

/** Whether a place of the journal lies behind another. */
export function isAfter(place: JournalPlace, other: JournalPlace): boolean {
  return place.seq > other.seq || (place.seq === other.seq && place.index > other.index);
}
