import { StationLimits } from '@setwell/shared-models/condition/station-limits';
import { SurveyedPlaces } from '@setwell/shared-models/condition/surveyed-place';
import { InstrumentActs, isOfInstruments } from '@setwell/shared-models/metrology/instrument-acts';
import { nextCall, type Call } from '@setwell/shared-models/call/call';
import type {
  CallKind,
  JournalPlace,
  LoadEnded,
  LoadOpened,
  PlantRevised,
  RecipeApproved,
  RecipeProposed,
  RecipeRef,
  StationSet,
  ClosingVoided,
} from '@setwell/shared-models/record/bodies';
import type { CarriedFace } from '@setwell/shared-models/score/shape';
import { answeredPlace } from '@setwell/shared-models/record/answered-place';
import type { Entry } from '@setwell/shared-models/record/entry';
import { LoadAccounts, type LoadAccount, type OlderLoads } from './load-accounts.ts';

export type { LoadAccount } from './load-accounts.ts';

export interface RecipeRevision {
  ref: RecipeRef;
  title: string;
  approved: boolean;
}

/** How a station was set, by whom and when. */
export interface StationService extends StationSet {
  by: string;
  sinceMs: number;
}

/** A person has said of so many closings that they held nothing; older ones call nobody any more. */
const mostVoided = 200;

/** What was done and said so far. May be thrown away: any fold of the same entries is the same. */
export class LedgerFold {
  readonly accounts: LoadAccounts;
  /** Only calls that are up; a cleared one is history. */
  readonly calls = new Map<string, Call>();
  /** Revisions by recipe, oldest first. */
  readonly recipes = new Map<string, RecipeRevision[]>();
  /** What the last closing of each zone has left of its tools. */
  readonly #carried = new Map<string, CarriedFace>();
  /** Stations that are not in service. */
  readonly services = new Map<string, StationService>();
  /** Closings that held nothing, as people have said; the newest ones. */
  readonly voidedClosings: { station: string; foundMs: number }[] = [];
  /** Instruments through time, and the faults found in their readings. */
  readonly instruments = new InstrumentActs();
  /** Limits that people took over from the plant's own data. */
  readonly limits = new StationLimits();
  /** What surveys say of a place, where people took it over. */
  readonly places = new SurveyedPlaces();
  plantSha256: string | null = null;
  /** The greatest number of a person. */
  lastPerson = 0;
  /** Greatest place of the journal that an entry names: every event up to it has had its answer. */
  cursor: JournalPlace = { seq: 0, index: -1 };

  /** @param older loads that were sealed long ago; without them such a load is not known any more */
  constructor(older?: OlderLoads) {
    this.accounts = new LoadAccounts(older);
  }

  get loads(): ReadonlyMap<string, LoadAccount> {
    return this.accounts.loads;
  }

  /** @param answered every event up to there has had its answer, though the entry is not heard any more */
  begin(answered: JournalPlace | null): void {
    this.cursor = answered ?? this.cursor;
  }

  hear(entries: Entry[]): void {
    for (const entry of entries) this.take(entry);
  }

  take(entry: Entry): void {
    const { kind } = entry;
    const place = answeredPlace(entry);
    if (place !== null && isAfter(place, this.cursor)) this.cursor = place;
    if (kind === 'plant-revised') this.plantSha256 = (entry.body as PlantRevised).sha256;
    else if (kind === 'person-granted') this.#takePerson(entry as Entry<{ person: string }>);
    else if (kind === 'station-set') this.#takeService(entry as Entry<StationSet>);
    else if (kind === 'limit-approved') this.limits.take(entry);
    else if (kind === 'place-approved') this.places.take(entry);
    else if (kind === 'closing-voided') this.#takeVoided(entry as Entry<ClosingVoided>);
    else if (kind.startsWith('recipe-')) this.#takeRecipe(entry);
    else if (kind.startsWith('call-')) this.#takeCall(entry);
    else if (isOfInstruments(entry)) this.instruments.take(entry);
    else this.#takeLoad(entry);
  }

  /** What was taken before the writer had numbered it gets its number. */
  number(entry: Entry): void {
    this.accounts.number(entry);
    const call = this.calls.get(entry.about.call ?? '');
    if (!call) return;
    const { n, at: atMs } = entry;
    if (entry.kind === 'call-raised') this.calls.set(call.id, { ...call, n, lastN: n, atMs });
    else this.calls.set(call.id, { ...call, lastN: n });
  }

  /** How often a load has asked for a call of this kind: a second one needs a name of its own. */
  timesRaised(load: string, kind: CallKind): number {
    const account = this.loads.get(load) ?? this.accounts.recent.get(load)?.account;
    return account?.raised.get(kind) ?? 0;
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

  #takePerson({ body: { person } }: Entry<{ person: string }>): void {
    this.lastPerson = Math.max(this.lastPerson, Number(person.slice('p-'.length)));
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

  #takeService({ about, by, at, body }: Entry<StationSet>): void {
    const { station } = about;
    if (station === undefined) return;
    if (body.state === 'in-service') this.services.delete(station);
    else this.services.set(station, { ...body, by, sinceMs: at });
  }

  #takeVoided({ about: { station }, body: { foundMs } }: Entry<ClosingVoided>): void {
    if (station === undefined) return;
    this.voidedClosings.push({ station, foundMs });
    if (this.voidedClosings.length > mostVoided) this.voidedClosings.shift();
  }

  #takeLoad(entry: Entry): void {
    if (entry.kind === 'load-ended') {
      const opened = this.loads.get(entry.about.load ?? '')?.opened;
      for (const face of (entry.body as LoadEnded).carried ?? []) {
        if (opened) this.#carried.set(placeOf(opened, face.zone), face);
      }
    }
    this.accounts.take(entry);
  }

  #takeCall(entry: Entry): void {
    const id = entry.about.call;
    if (id === undefined) return;
    const call = nextCall(this.calls.get(id), entry);
    if (!call || call.cleared) this.calls.delete(id);
    else this.calls.set(id, call);
    if (entry.kind === 'call-raised' && call) {
      const { kind, load } = call.raised;
      const account = this.loads.get(load ?? '') ?? this.accounts.recent.get(load ?? '')?.account;
      account?.raised.set(kind, (account.raised.get(kind) ?? 0) + 1);
    }
  }
}

/** A zone of a station, or of one of its openings. */
function placeOf({ station, opening }: LoadOpened, zone: string): string {
  return `${station} ${opening ?? ''} ${zone}`;
}

/** Whether a place of the journal lies behind another. */
export function isAfter(place: JournalPlace, other: JournalPlace): boolean {
  return place.seq > other.seq || (place.seq === other.seq && place.index > other.index);
}
