import { Caller } from '@setwell/collector/judge/caller';
import { LedgerFold } from '@setwell/collector/judge/ledger-fold';
import { callState, type CallState } from '@setwell/shared-models/call/call';
import type { FoundClosing } from '@setwell/shared-models/call/closing-calls';
import type { LoadFacts } from '@setwell/shared-models/call/load-calls';
import type { StationFacts } from '@setwell/shared-models/call/station-calls';
import type { Wish } from '@setwell/shared-models/call/wish';
import { between } from '@setwell/shared-models/condition/closing';
import type { CallCleared, CallKind } from '@setwell/shared-models/record/bodies';
import type { Entry, EntryKind } from '@setwell/shared-models/record/entry';
import type { Forecast } from '@setwell/shared-models/score/shape';
import { shellRecipe } from '../fixtures/press-load.ts';

export const minuteS = 60;
/** The press load of these timelines is planned for so long [s]. */
export const planS = 24 * minuteS;
const ms = (s: number): number => s * 1000;

/** What a caller has made of what was wanted, tick by tick. */
export class Told {
  readonly fold = new LedgerFold();
  readonly entries: Entry[] = [];
  nowS = 0;
  readonly caller = new Caller(this.fold, ({ kind, by, about, body }) =>
    this.say(kind, body, about, by),
  );

  say(kind: EntryKind, body: object, about: Entry['about'], by = 'collector'): void {
    const n = this.entries.length;
    const entry: Entry = { v: 1, log: 't', n, at: ms(this.nowS), kind, by, about, cites: [], body };
    this.entries.push(entry);
    this.fold.take(entry);
  }

  /** The state of the newest call of a kind that is up; `none` where there is none. */
  stateOf(kind: CallKind): CallState | 'none' {
    const call = [...this.fold.calls.values()].filter(({ raised }) => raised.kind === kind).at(-1);
    return call === undefined ? 'none' : callState(call);
  }

  acknowledge(kind: CallKind): void {
    const call = [...this.fold.calls.values()].find(({ raised }) => raised.kind === kind);
    if (call === undefined) throw new Error(`nobody is called for ${kind}`);
    this.say('call-acknowledged', { note: null }, { call: call.id }, 'p-1');
    this.caller.acknowledged(call.id);
  }

  clearedBecause(): CallCleared['because'][] {
    return this.entries
      .filter(({ kind }) => kind === 'call-cleared')
      .map(({ body }) => (body as CallCleared).because);
  }
}

const forecast: Forecast = {
  provenAtMs: null,
  overAtMs: null,
  waitingHelps: true,
  atPlan: null,
} as Forecast;

/** A press load at a time [s], with nothing to call anybody for. */
export function load(nowS: number, more: Partial<LoadFacts> = {}): LoadFacts {
  return {
    ...{ load: 'P1-1', lot: 'K-118', station: 'press-1', state: 'open', hasRecipe: true },
    ...{ nowMs: ms(nowS), startMs: 0, plannedEndMs: ms(planS), faulted: false, unit: 'min' },
    ...{ verdict: 'under', side: 'short', worst: { zone: 'left', glueLine: 6, margin: -2 } },
    ...{ forecast: null, requirements: [], up: new Set<CallKind>() },
    ...more,
  } as LoadFacts;
}

export const expected = (more: Partial<Forecast>): Forecast => ({ ...forecast, ...more });

const limits = [
  { phase: 'recovery', withinMin: 5 },
  { phase: 'hold', minC: 136, maxC: 140 },
];

/** A press at a time [s]: two faces at 138 °C, its load in and recovered, pressed. */
export function press(
  nowS: number,
  more: Partial<StationFacts> = {},
  ofLoad: Partial<StationFacts['loads'][number]> = {},
): StationFacts {
  return {
    ...{ station: 'press-1', nowMs: ms(nowS), condition: 'loaded', sinceMs: 0, readyC: 130 },
    faces: [face('p1-ul', nowS), face('p1-ll', nowS)],
    loads: [
      {
        ...{ load: 'P1-1', lot: 'K-118', startMs: 0, plannedEndMs: ms(planS) },
        recipe: { ...shellRecipe, limits } as StationFacts['loads'][number]['recipe'],
        points: ['p1-ul', 'p1-ll'],
        recovered: new Set(['p1-ul', 'p1-ll']),
        released: false,
        ...ofLoad,
      },
    ],
    pressure: null,
    ...more,
  } as StationFacts;
}

export function face(
  point: string,
  nowS: number,
  more: Partial<StationFacts['faces'][number]> = {},
): StationFacts['faces'][number] {
  const told = { celsius: 138, slopeKPerMin: 0, leastK: 0.2, silentSinceMs: null };
  return { point, tMs: ms(nowS), ...told, ...more };
}

export function closing(startS: number, more: Partial<FoundClosing> = {}): FoundClosing {
  const start = between(ms(startS), ms(startS));
  const told = { end: null, foundBy: 'pressure', charge: 'seen', setAside: false } as const;
  return { foundMs: ms(startS), start, ...told, ...more };
}

export interface Timeline {
  kind: CallKind;
  /** What it shows, in words. */
  shows: string;
  tickS: number;
  wishes: (nowS: number, told: Told) => Wish[];
  /** The state at so many seconds, such as `299 none, 300 up`; in between it is not asked. */
  is: string;
  /** Somebody takes it then [s]. */
  takenS?: number;
  suppressed?: (nowS: number) => boolean;
}

/** Plays it, tick by tick, and answers the states at the times it names, in the same words. */
export function played({ kind, tickS, wishes, is, takenS, suppressed }: Timeline): string {
  const told = new Told();
  const askedS = is.split(', ').map((each) => parseInt(each, 10));
  const states: string[] = [];
  for (let s = 0; s <= Math.max(...askedS); s += tickS) {
    told.nowS = s;
    told.caller.settle(wishes(s, told), ms(s), 'recovered', suppressed?.(s) ?? false);
    told.caller.lookRound(ms(s));
    if (s === takenS) told.acknowledge(kind);
    if (askedS.includes(s)) states.push(`${String(s)} ${told.stateOf(kind)}`);
  }
  return states.join(', ');
}
