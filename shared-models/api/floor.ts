import { callState, type Call, type CallState } from '../call/call.ts';
import { callRules, type CallRule } from '../call/call-rule.ts';
import type { CallCleared, CallRaised, Job, Say, StationSet } from '../record/bodies.ts';
import type { LoadDecisions } from '../record/decisions.ts';
import type { MeasureUnit } from '../cure/law.ts';
import type { Forecast, JudgedPlace, Reason, Side, Verdict, Window } from '../score/shape.ts';
import type { ClockSetting } from './clock.ts';
import type { Hello, Judgement, StationNow } from './collector.ts';
import { standingCall } from './standing-call.ts';

/** A load as a floor screen needs it: its judgement without the places that do not decide. */
export interface FloorLoad {
  load: string;
  station: string;
  opening: string | null;
  zones: string[];
  lot: string;
  partCount: number;
  recipe: { id: string; revision: number; title: string } | null;
  state: Judgement['state'];
  startMs: number;
  endMs: number | null;
  plannedEndMs: number | null;
  /** The judge's clock; what is shown while a connection is lost is from then. */
  asOfMs: number;
  verdict: Verdict;
  side: Side | null;
  unit: MeasureUnit | null;
  window: Window | null;
  worst: JudgedPlace | null;
  placeCount: number;
  forecast: Forecast | null;
  say: Say;
  reasons: Reason[];
  blindSinceMs: number | null;
  silentPoints: string[];
  gapCount: number;
  provenSinceMs: number | null;
  /** Since when it is past the most; null while it is not. */
  overSinceMs: number | null;
  /** A later record changed what was said; null while nothing has. */
  changed: { atMs: number; because: string; from: Verdict } | null;
  /** Holds, releases, promises: what people and rules have decided over it. */
  decisions: LoadDecisions;
}

/** A call as screens see it. */
export interface FloorCall extends CallRaised {
  id: string;
  /** Number of the entry that raised it. */
  n: number;
  /** Number of its newest entry: an act on it answers this one. */
  lastN: number;
  raisedMs: number;
  /** `up`: nobody has it; `taken`: somebody goes; `returned`: its cause is gone, nobody has looked. */
  state: CallState;
  acknowledged: { by: string; atMs: number; note: string | null } | null;
  /** Who else was called since nobody came, oldest first. */
  handedOn: { to: Job; atMs: number }[];
  shelved: { by: string; atMs: number; reason: string; untilMs: number } | null;
  cleared: { atMs: number; because: CallCleared['because'] } | null;
  /** What is lost if nobody does anything. */
  costs: CallRule['costs'];
}

export function floorCall(call: Call): FloorCall {
  const { raised, id, n, lastN, atMs, acknowledged, handedOn, shelved, cleared } = call;
  return {
    ...raised,
    id,
    n,
    lastN,
    raisedMs: atMs,
    state: callState(call),
    acknowledged: acknowledged && {
      by: acknowledged.by,
      atMs: acknowledged.atMs,
      note: acknowledged.note,
    },
    handedOn: handedOn.map(({ to, atMs: ms }) => ({ to, atMs: ms })),
    shelved: shelved && {
      by: shelved.by,
      atMs: shelved.atMs,
      reason: shelved.reason,
      untilMs: shelved.untilMs,
    },
    cleared: cleared && { atMs: cleared.atMs, because: cleared.because },
    costs: callRules[raised.kind].costs,
  };
}

/** What of the collector's greeting a browser needs. */
export type LiveSite = Pick<Hello, 'site' | 'stations' | 'recipes' | 'version' | 'collector'> & {
  clock: ClockSetting;
};

/** How the server's ties are: a screen must never look live when they are not. */
export interface LiveLink {
  collector: 'connected' | 'connecting' | 'gone';
  /** Plant time since when [ms]. */
  sinceMs: number | null;
  /** The collector answers, but says that it is not well: its own words. */
  trouble: string | null;
  broker: Hello['broker'] | null;
  /** Plant time of the last verdicts, while the judge hangs or lags [ms]. */
  judgedMs?: number;
}

/** All that a floor screen lives on, by key. */
export interface LiveState {
  site: LiveSite | null;
  link: LiveLink;
  stations: Record<string, StationNow>;
  loads: Record<string, FloorLoad>;
  calls: Record<string, FloorCall>;
}

/** One message of the event stream: the whole state, or what has changed (null: gone). */
export interface LiveFrame {
  whole: boolean;
  /** Plant time at sending [ms]. */
  nowMs: number;
  site?: LiveSite;
  link?: LiveLink;
  stations?: Record<string, StationNow | null>;
  loads?: Record<string, FloorLoad | null>;
  calls?: Record<string, FloorCall | null>;
}

/** The screens' five verdicts: `not-yet` is an open load that is under, or unproven and short. */
export type VerdictToken = 'not-yet' | Verdict;

export function verdictToken(load: {
  state: FloorLoad['state'];
  verdict: Verdict;
  side: Side | null;
}): VerdictToken {
  if (load.state !== 'open') return load.verdict;
  const short = load.verdict === 'unproven' && load.side === 'short';
  return load.verdict === 'under' || short ? 'not-yet' : load.verdict;
}

/** What the minutes slot of a row says. Minutes to go are rounded up, minutes left are rounded down. */
export type RowSlot =
  | { kind: 'fetching' }
  | { kind: 'cold' }
  | { kind: 'heating'; readyMs: number | null }
  | { kind: 'empty'; forMin: number | null }
  | { kind: 'no-readings'; forMin: number | null }
  | { kind: 'counting' }
  | { kind: 'more'; fromMin: number; toMin: number }
  | { kind: 'ask' }
  | { kind: 'out-by'; atMs: number }
  | { kind: 'left'; min: number }
  | { kind: 'no-end' }
  | { kind: 'over-since'; atMs: number }
  | { kind: 'on-hold' }
  | { kind: 'blind'; min: number }
  | { kind: 'which-lot' }
  | { kind: 'service'; state: StationSet['state']; untilMs: number | null }
  | { kind: 'no-recipe' };

export interface FloorRow {
  station: string;
  /** Null: nothing is in the station. */
  token: VerdictToken | null;
  slot: RowSlot;
  /** Somebody is called for what stands in this row: its minutes are reversed. */
  called: boolean;
  /** A needed point is silent: drawn dashed, never faded. */
  blind: boolean;
  /** The load the row speaks of, first of `loads`. */
  load: FloorLoad | null;
  loads: FloorLoad[];
  /** By how many minutes the plan ends before the proof [min], rounded up; null if it does not. */
  planEarlyMin: number | null;
}

const minuteMs = 60_000;
/** Nearer than this to the most, the row counts down what is left. */
const nearingMostMin = 10;

export const minutesUp = (ms: number): number => Math.max(0, Math.ceil(ms / minuteMs));
export const minutesDown = (ms: number): number => Math.max(0, Math.floor(ms / minuteMs));

/** The minutes slot of a load at a time [ms]. */
export function loadSlot(load: FloorLoad, nowMs: number): RowSlot {
  if (load.state !== 'open') {
    return load.verdict === 'in-window' ? { kind: 'empty', forMin: null } : { kind: 'on-hold' };
  }
  if (load.lot === '') return { kind: 'which-lot' };
  if (load.recipe === null) return { kind: 'no-recipe' };
  if (load.blindSinceMs !== null && load.verdict !== 'in-window') {
    return { kind: 'blind', min: minutesDown(nowMs - load.blindSinceMs) };
  }
  const { forecast } = load;
  switch (verdictToken(load)) {
    case 'over':
      return { kind: 'over-since', atMs: load.overSinceMs ?? forecast?.overAtMs ?? load.asOfMs };
    case 'in-window': {
      if (load.window?.most === null) return { kind: 'no-end' };
      // Known from the ledger alone, after a restart: whether it has an end is not known yet.
      if (load.window === null || forecast === null) return { kind: 'counting' };
      const { overAtMs } = forecast;
      if (overAtMs === null) return { kind: 'no-end' };
      const left = minutesDown(overAtMs - nowMs);
      return left < nearingMostMin
        ? { kind: 'left', min: left }
        : { kind: 'out-by', atMs: overAtMs };
    }
    case 'not-yet':
    case 'under':
    case 'unproven': {
      if (forecast !== null && !forecast.waitingHelps) return { kind: 'ask' };
      const provenMs = forecast?.provenAtMs ?? null;
      if (forecast === null || provenMs === null) return { kind: 'counting' };
      const toMin = Math.max(1, minutesUp((forecast.provenLatestMs ?? provenMs) - nowMs));
      const fromMin = Math.max(1, minutesUp((forecast.provenEarliestMs ?? provenMs) - nowMs));
      return { kind: 'more', fromMin: Math.min(fromMin, toMin), toMin };
    }
  }
}

function emptySlot(now: StationNow | null, nowMs: number): RowSlot {
  if (now === null) return { kind: 'fetching' };
  const { service } = now;
  if (service !== null && service.state !== 'in-service') {
    return { kind: 'service', state: service.state, untilMs: service.untilMs };
  }
  const forMin = now.sinceMs === null ? null : minutesDown(nowMs - now.sinceMs);
  switch (now.condition) {
    case 'cold':
      return { kind: 'cold' };
    case 'heating':
      return { kind: 'heating', readyMs: now.readyMs };
    case 'no-readings':
      return { kind: 'no-readings', forMin };
    case 'empty':
      return { kind: 'empty', forMin };
    case 'loaded':
      return { kind: 'counting' };
  }
}

/** Something is in the station, and nobody has said what. */
const asksForLot: CallRaised['kind'][] = ['which-lot', 'closing-unnamed'];

/** Minutes until a load is done, for the order of loads in one row; held and blind ones first. */
function urgency(load: FloorLoad, calls: FloorCall[], nowMs: number): number {
  if (calls.some((call) => call.load === load.load)) return -1;
  const slot = loadSlot(load, nowMs);
  switch (slot.kind) {
    case 'more':
      return slot.toMin;
    case 'out-by':
      return 0;
    case 'left':
    case 'over-since':
    case 'blind':
    case 'on-hold':
    case 'which-lot':
    case 'no-recipe':
    case 'ask':
    case 'no-end':
      return 0;
    default:
      return Number.MAX_SAFE_INTEGER;
  }
}

/**
 * One row of the floor: what a station says at a time [ms].
 *
 * An ended load stays in its row only while a call about it is open and nothing else is in the station:
 * a station between loads shows no ghost of its last verdict.
 */
export function floorRow(state: LiveState, station: string, nowMs: number): FloorRow {
  const calls = openCalls(state).filter((call) => call.station === station);
  const loads = Object.values(state.loads).filter((load) => load.station === station);
  const open = loads.filter((load) => load.state === 'open');
  const held = loads.filter(
    (load) => load.state !== 'open' && calls.some((call) => call.load === load.load),
  );
  // A closing that nobody has named is something else in the station.
  const isAsked = calls.some((call) => call.kind === 'closing-unnamed');
  const shown = (open.length > 0 ? open : isAsked ? [] : held).sort(
    (a, b) =>
      urgency(a, calls, nowMs) - urgency(b, calls, nowMs) ||
      a.startMs - b.startMs ||
      (a.load < b.load ? -1 : 1),
  );
  const load = shown[0] ?? null;
  const stationCalls = calls.filter((call) => call.load === null || call.load === load?.load);
  if (load === null) {
    const whichLot = calls.some((call) => asksForLot.includes(call.kind));
    return {
      station,
      token: whichLot ? 'not-yet' : null,
      slot: whichLot ? { kind: 'which-lot' } : emptySlot(state.stations[station] ?? null, nowMs),
      called: stationCalls.length > 0,
      blind: state.stations[station]?.condition === 'no-readings',
      load: null,
      loads: [],
      planEarlyMin: null,
    };
  }
  return {
    station,
    token: verdictToken(load),
    slot: loadSlot(load, nowMs),
    called: stationCalls.length > 0,
    blind: load.blindSinceMs !== null,
    load,
    loads: shown,
    planEarlyMin: planEarlyMin(load),
  };
}

/** By how many minutes the plan ends before the proof [min], rounded up. */
export function planEarlyMin(load: FloorLoad): number | null {
  const provenMs = load.forecast?.provenAtMs ?? null;
  if (load.state !== 'open' || load.plannedEndMs === null || provenMs === null) return null;
  if (verdictToken(load) !== 'not-yet') return null;
  const early = minutesUp(provenMs - load.plannedEndMs);
  return early > 0 ? early : null;
}

/**
 * Calls that are listed: not cleared, not put aside, and no other call stands for them. By the minutes
 * until it is too late to act, then since when.
 */
export function openCalls(state: Pick<LiveState, 'calls' | 'loads' | 'stations'>): FloorCall[] {
  return Object.values(state.calls)
    .filter((call) => call.cleared === null && call.shelved === null && !call.cause)
    .map((call) => standingCall(call, state))
    .sort(
      (a, b) =>
        (a.tooLateMs ?? Number.MAX_SAFE_INTEGER) - (b.tooLateMs ?? Number.MAX_SAFE_INTEGER) ||
        a.raisedMs - b.raisedMs ||
        a.n - b.n,
    );
}

/** A load that comes out: when it is proven (now, if it is already). */
export interface NextOut {
  load: FloorLoad;
  inMin: number;
}

/** Open loads by when they are proven. */
export function nextOut(state: Pick<LiveState, 'loads'>, nowMs: number): NextOut[] {
  const coming: NextOut[] = [];
  for (const load of Object.values(state.loads)) {
    if (load.state !== 'open') continue;
    const slot = loadSlot(load, nowMs);
    if (slot.kind === 'more') coming.push({ load, inMin: slot.toMin });
    else if (verdictToken(load) === 'in-window') coming.push({ load, inMin: 0 });
  }
  return coming.sort((a, b) => a.inMin - b.inMin || (a.load.load < b.load.load ? -1 : 1));
}

/** Folds a frame of the event stream into the state. */
export function nextLive(state: LiveState, frame: LiveFrame): LiveState {
  const base = frame.whole ? { ...state, stations: {}, loads: {}, calls: {}, site: null } : state;
  return {
    site: frame.site ?? base.site,
    link: frame.link ?? base.link,
    stations: merged(base.stations, frame.stations),
    loads: merged(base.loads, frame.loads),
    calls: merged(base.calls, frame.calls),
  };
}

function merged<T>(
  into: Record<string, T>,
  changes: Record<string, T | null> | undefined,
): Record<string, T> {
  if (changes === undefined) return into;
  const next = { ...into };
  for (const [key, value] of Object.entries(changes)) {
    if (value === null) delete next[key];
    else next[key] = value;
  }
  return next;
}

export const emptyLive: LiveState = {
  site: null,
  link: { collector: 'connecting', sinceMs: null, trouble: null, broker: null },
  stations: {},
  loads: {},
  calls: {},
};
