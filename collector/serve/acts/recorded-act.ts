import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { Station } from '@setwell/shared-models/plant/plant';
import type { About, Entry } from '@setwell/shared-models/record/entry';
import type { Clock } from '../../clock.ts';
import type { LedgerFold } from '../../judge/ledger-fold.ts';
import type { Ledger, Proposal } from '../../ledger/shape.ts';
import type { GivenAct } from './act.ts';
import { refused } from './refused.ts';

export interface RecordedActParts {
  ledger: Ledger;
  clock: Clock;
  fold: LedgerFold;
  /** The recipe of a digest that the ledger names. */
  recipe(sha256: string): Recipe;
  /** Null: no such station. */
  stationOf(station: string): Station | null;
  /** Whether the pressure of a running load was let off, by its marks. */
  isReleased(load: string): boolean;
  /** Appends, and lets the judge hear it. */
  append(proposals: Proposal[]): Entry[];
}

/** The entry that an act answers. @throws ActRefused 409 where somebody answered it meanwhile */
export function answered(act: GivenAct, ledger: Ledger): Entry | null {
  if (!act.on) return null;
  const entry = ledger.entry(act.on.n);
  if (!entry) throw refused('on.n', String(act.on.n), `an entry before ${String(ledger.size())}`);
  const later = newerAnswer(ledger, entry);
  if (later) {
    const found = `entry ${String(later.n)} (${later.kind} by ${later.by})`;
    throw refused('on.n', found, `nothing newer than entry ${String(entry.n)}`, 'moved-on', 409);
  }
  return entry;
}

/** An act straight onto the ledger, citing what it answers. */
export function recorded(
  act: GivenAct,
  { ledger, append }: RecordedActParts,
  about: About,
  body: object,
  blobs: Buffer[] = [],
): Entry {
  const [cited] = act.on ? ledger.entriesAfter(act.on.n - 1, 1) : [];
  const cites = cited ? [{ log: ledger.log, n: cited.n, leaf: cited.leaf }] : [];
  const { meaning } = act;
  const signed = meaning === undefined ? body : { ...body, meaning };
  const [entry] = append([
    { kind: act.kind as 'disposition', by: act.by, about, cites, body: signed, blobs, act: act.id },
  ]);
  if (!entry) throw new Error('the ledger has answered no entry');
  return entry;
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
export function aboutOf({ about }: GivenAct): About {
  return Object.fromEntries(Object.entries(about).filter(([, value]) => value !== undefined));
}
