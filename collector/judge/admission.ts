import { unnamedLot } from '@setwell/shared-models/record/unnamed-lot';
import { misfit } from '@setwell/shared-models/plant/misfit';
import { cutText } from '@setwell/shared-models/record/well-formed';
import type { Mark } from '@setwell/shared-models/score/shape';
import type { Plant, Station, Zone } from '@setwell/shared-models/plant/plant';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { StationEvent } from '../journal/shape.ts';
import type { LedgerFold, RecipeRevision } from './ledger-fold.ts';
import type { NamedClosing } from './closings.ts';
import { mostEvidenceBytes } from './scored-event.ts';

/** Why an event is not believed: which field, what stood there, what was expected. */
export interface Refusal {
  field: string;
  code:
    | 'unknown-station'
    | 'too-long'
    | 'too-much'
    | 'unknown-recipe'
    | 'unknown-zone'
    | 'wrong-kind'
    | 'occupied'
    | 'load-exists'
    | 'no-such-load'
    | 'which-load'
    | 'end-before-start'
    | 'unknown-point'
    | 'unknown-instrument'
    | 'not-fitted'
    | 'wrong-shape'
    | 'time-ahead'
    | 'time-behind';
  found: string;
  expected: string;
}

export interface Opening {
  answer: 'open';
  load: string;
  station: Station;
  opening: string | null;
  zones: Zone[];
  lot: string;
  /** Null: none was named; readings are kept, nothing is judged. */
  recipe: RecipeRevision | null;
  start: Mark;
  /** The closing whose clock it has; null: its own event's. */
  closing: NamedClosing | null;
}

export interface Ending {
  answer: 'end';
  load: string;
  end: Mark;
}

export type Admission =
  | Opening
  | Ending
  /** The same thing said again: no entry, no call. */
  | { answer: 'repeated'; load: string }
  | { answer: 'refused'; refusal: Refusal };

/** What an event is held against. */
export interface Scene {
  plant: Plant;
  fold: LedgerFold;
  /** The recipe of a digest that the ledger names. */
  recipe(sha256: string): Recipe;
}

/** A clock may be this far ahead of ours before what it says is not believed [ms]. */
const aheadMs = 10_000;
/** Nothing older comes through the broker: its session would have expired [ms]. */
const behindMs = 14 * 86_400_000;
/** All part names of a load together [bytes]: its entry, which holds them, ends at 64 KiB. */
const mostPartsBytes = 32_768;

/**
 * Whether a load may open as the event says. Nothing is changed; the answer is a value.
 *
 * @param closedUntilMs when it came out again, where that is known already [ms]
 */
export function admitStart(
  event: StationEvent,
  receivedMs: number,
  scene: Scene,
  closedUntilMs: number | null = null,
): Admission {
  const { plant, fold } = scene;
  const station = plant.stations.find(({ id }) => id === event.station);
  if (!station) {
    const known = plant.stations.map(({ id }) => id).join(', ');
    return refuse('station', 'unknown-station', event.station, `one of: ${known}`);
  }
  const untimely = wrongTime(event, receivedMs);
  if (untimely) return untimely;
  const partsBytes = Buffer.byteLength(JSON.stringify(event.parts));
  if (partsBytes > mostPartsBytes) {
    const expected = `at most ${String(mostPartsBytes)} bytes of part names`;
    return refuse('parts', 'too-long', `${String(partsBytes)} bytes`, expected);
  }
  const load = event.load ?? `${station.id}-${String(event.earliestMs)}`;
  const again = event.act === null ? null : fold.accounts.ofAct(event.act);
  if (again !== null) return { answer: 'repeated', load: again };
  if (fold.accounts.isVoided(load)) {
    return refuse('load', 'load-exists', load, 'a load number not used before');
  }
  const known = beginningOf(load, fold);
  if (known) {
    const same = known.station === station.id && known.startMs === event.earliestMs;
    if (same) return { answer: 'repeated', load };
    return refuse('load', 'load-exists', load, 'a load number not used before');
  }
  const zones = zonesOf(event, station);
  if (!Array.isArray(zones)) return zones;
  const occupied = occupant(station, zones, fold, closedUntilMs ?? Infinity);
  if (occupied) {
    return refuse('zones', 'occupied', occupied.zone, `free; ${occupied.load} is in it`);
  }
  const recipe = recipeOf(event, station, scene);
  if (recipe && 'answer' in recipe) return recipe;
  return {
    answer: 'open',
    load,
    station,
    opening: zones[0]?.opening ?? null,
    zones,
    lot: event.lot ?? unnamedLot,
    recipe,
    start: { earliestMs: event.earliestMs, latestMs: event.latestMs },
    closing: null,
  };
}

/** Whether a load ends as the event says. */
export function admitEnd(
  event: StationEvent,
  receivedMs: number,
  { plant, fold }: Scene,
): Admission {
  if (!plant.stations.some(({ id }) => id === event.station)) {
    return refuse('station', 'unknown-station', event.station, 'a station of plant.yaml');
  }
  const untimely = wrongTime(event, receivedMs);
  if (untimely) return untimely;
  const again = event.act === null ? null : fold.accounts.ofAct(event.act);
  if (again !== null) return { answer: 'repeated', load: again };
  const load = event.load ?? onlyLoadAt(event.station, fold);
  if (load === null) return refuse('load', 'which-load', 'none named', 'a load number');
  const finished = fold.accounts.finished(load);
  if (finished?.station === event.station && finished.endMs === event.latestMs) {
    return { answer: 'repeated', load };
  }
  const account = fold.loads.get(load);
  if (account?.opened.station !== event.station) {
    return refuse('load', 'no-such-load', load, `a load that has started at ${event.station}`);
  }
  if (account.ended) {
    if (account.ended.endMs === event.latestMs) return { answer: 'repeated', load };
    return refuse('load', 'no-such-load', load, 'a load that has not ended yet');
  }
  const { pressureOn } = account.opened.marks;
  if (event.earliestMs < pressureOn.latestMs) {
    const found = new Date(event.earliestMs).toISOString();
    const started = new Date(pressureOn.latestMs).toISOString();
    return refuse('t', 'end-before-start', found, `not before the load's start ${started}`);
  }
  return {
    answer: 'end',
    load,
    end: { earliestMs: event.earliestMs, latestMs: event.latestMs },
  };
}

function beginningOf(load: string, fold: LedgerFold): { station: string; startMs: number } | null {
  const account = fold.loads.get(load);
  if (account) {
    const { station, marks } = account.opened;
    return { station, startMs: marks.pressureOn.earliestMs };
  }
  return fold.accounts.finished(load);
}

function wrongTime(event: StationEvent, receivedMs: number): Admission | null {
  const refusal = untimely(event, receivedMs);
  return refusal === null ? null : { answer: 'refused', refusal };
}

/** Why an event's time is not believed; null where it is. */
export function untimely(event: StationEvent, receivedMs: number): Refusal | null {
  const found = new Date(event.latestMs).toISOString();
  const received = new Date(receivedMs).toISOString();
  if (event.latestMs > receivedMs + aheadMs) {
    const expected = `at most 10 s after its receipt at ${received}`;
    return { field: 't', code: 'time-ahead', found, expected };
  }
  if (event.earliestMs < receivedMs - behindMs) {
    const expected = `within 14 days of its receipt at ${received}`;
    return { field: 't', code: 'time-behind', found, expected };
  }
  return null;
}

function zonesOf(event: StationEvent, station: Station): Zone[] | Admission {
  const openings = [...new Set(station.zones.map(({ opening }) => opening))];
  const named = event.opening ?? (openings.length === 1 ? (openings[0] ?? null) : undefined);
  // The same zone name stands for another place in each opening.
  const ofOpening = station.zones.filter(
    ({ opening }) => opening === named || (opening === null && openings.length === 1),
  );
  if (ofOpening.length === 0) {
    const expected = `one of: ${openings.join(', ')}`;
    return refuse('opening', 'unknown-zone', event.opening ?? 'none named', expected);
  }
  if (event.zones === null || event.zones.length === 0) return ofOpening;
  const wanted = event.zones;
  const unknown = wanted.find((zone) => !ofOpening.some(({ id }) => id === zone));
  if (unknown !== undefined) {
    const known = ofOpening.map(({ id }) => id).join(', ');
    return refuse('zones', 'unknown-zone', unknown, `one of: ${known}`);
  }
  return ofOpening.filter(({ id }) => wanted.includes(id));
}

/** A press zone holds one load; racks, ovens, stores and benches hold many. */
function occupant(
  station: Station,
  zones: Zone[],
  fold: LedgerFold,
  untilMs: number,
): { load: string; zone: string } | null {
  if (station.kind !== 'press') return null;
  for (const { opened, ended } of fold.loads.values()) {
    if (ended || opened.station !== station.id) continue;
    if (opened.marks.pressureOn.earliestMs >= untilMs) continue;
    const zone = zones.find(
      ({ id, opening }) => opening === opened.opening && opened.zones.includes(id),
    );
    if (zone) return { load: opened.load, zone: zone.id };
  }
  return null;
}

function recipeOf(
  event: StationEvent,
  station: Station,
  { fold, recipe: read }: Scene,
): RecipeRevision | null | Admission {
  if (event.recipe === null) return null;
  const [id = '', revision] = event.recipe.split('@');
  const number = revision === undefined ? null : Number(revision);
  const recipe = fold.approvedRecipe(id, number);
  if (!recipe) {
    const approved = [...fold.recipes.keys()].filter((known) => fold.approvedRecipe(known, null));
    const expected = `an approved recipe: ${approved.join(', ') || 'none is approved'}`;
    return refuse('recipe', 'unknown-recipe', event.recipe, expected);
  }
  const wrong = misfit(read(recipe.ref.sha256), station);
  return wrong === null ? recipe : refuse('recipe', 'wrong-kind', wrong.found, wrong.expected);
}

function onlyLoadAt(station: string, fold: LedgerFold): string | null {
  const open = [...fold.loads.values()].filter(
    ({ opened, ended }) => !ended && opened.station === station,
  );
  return open.length === 1 ? (open[0]?.opened.load ?? null) : null;
}

/** Evidence that a load has no room for: it is not used, and somebody is told. */
export function tooMuchEvidence(load: string): Refusal {
  const expected = `at most ${String(mostEvidenceBytes / 1024)} KiB of measurements at one load`;
  return { field: 'event', code: 'too-much', found: `more for ${load}`, expected };
}

function refuse(field: string, code: Refusal['code'], found: string, expected: string): Admission {
  return {
    answer: 'refused',
    refusal: { field, code, found: cutText(found, 200), expected: cutText(expected, 1000) },
  };
}
