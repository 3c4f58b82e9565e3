import type { Recipe } from '../plant/recipe-schema.ts';
import type { CallEvidence } from '../record/bodies.ts';
import type { Wish } from './wish.ts';

/** Something that was said of a lot before it went into a station. */
export interface LotEvent {
  event: string;
  station: string;
  atMs: number;
  lot: string | null;
  load: string | null;
  /** As it was named with the event; null: none was. */
  recipe: Recipe | null;
  /** `piece-temperature` [°C]. */
  tempC: number | null;
  place: { seq: number; index: number };
}

type ClockKind = 'assembly-time' | 'flash-off' | 'recoat';

/** A time that runs for a lot until it goes on. */
export interface LotClock {
  kind: ClockKind;
  lot: string;
  station: string;
  startMs: number;
  /** It must have gone on by then [ms]. */
  mostMs: number;
  phase: 'open' | 'closed' | 'flash-off' | 'recoat';
  evidence: CallEvidence;
  /** When it went on [ms]; null while the clock runs. */
  endedMs: number | null;
}

/** A piece that was measured, against what its recipe asks for. */
export interface PieceMeasured {
  lot: string;
  load: string | null;
  station: string;
  tempC: number;
  minC: number;
  evidence: CallEvidence;
}

export interface LotClocks {
  running: readonly LotClock[];
  pieces: readonly PieceMeasured[];
  /** Lots of which somebody tells their coats: only they are known to be coated again. */
  coated: ReadonlySet<string>;
}

export const noClocks: LotClocks = { running: [], pieces: [], coated: new Set() };

/** Somebody is called when so much of the time is left: afterwards nothing can be done [share]. */
const warnShare = 0.2;
/** What has stood for so long is nobody's business any more [ms]. */
export const clocksKeptMs = 24 * 3_600_000;
/** More lots than any plant has between two stations. */
const mostClocks = 2000;

/** The clocks after an event of a lot. */
export function nextClocks(clocks: LotClocks, event: LotEvent): LotClocks {
  const { lot } = event;
  if (lot === null) return clocks;
  const running = clocks.running.filter(({ startMs }) => startMs > event.atMs - clocksKeptMs);
  const before = { ...clocks, running };
  switch (event.event) {
    case 'spread':
      return begin(before, event, lot, 'assembly-time', 'open');
    case 'assembled':
      return begin(ended(before, event, lot, ['open']), event, lot, 'assembly-time', 'closed');
    case 'coat':
    case 'flash-off-start': {
      const coated = new Set(before.coated).add(lot);
      const on = ended({ ...before, coated }, event, lot, ['recoat']);
      return begin(on, event, lot, 'flash-off', 'flash-off');
    }
    case 'abraded':
      return ended(before, event, lot, ['recoat']);
    case 'load-start':
      return ended(before, event, lot, ['open', 'closed', 'flash-off', 'recoat']);
    case 'load-end': {
      const pieces = before.pieces.filter((piece) => piece.lot !== lot);
      const after = { ...before, pieces };
      return after.coated.has(lot) ? begin(after, event, lot, 'recoat', 'recoat') : after;
    }
    case 'piece-temperature':
      return measured(before, event, lot);
    default:
      return clocks;
  }
}

/** What somebody is called for by the clocks, and by pieces that are too cold. */
export function callsOfLots({ running, pieces }: LotClocks, nowMs: number): Wish[] {
  return [...running.map((clock) => callOfClock(clock, nowMs)), ...pieces.map(callOfPiece)];
}

function callOfClock(clock: LotClock, nowMs: number): Wish {
  const { kind, lot, station, startMs, mostMs, phase, endedMs, evidence } = clock;
  const warnMs = mostMs - warnShare * (mostMs - startMs);
  const passed = (endedMs ?? nowMs) > mostMs;
  return {
    kind,
    subject: `${lot}.${phase}.${String(startMs)}`,
    plannedMs: null,
    about: { station, lots: [lot] },
    present: endedMs === null && nowMs >= warnMs,
    // What went on too late has returned, and stays until somebody has looked.
    healed: !passed,
    raised: {
      station,
      load: null,
      point: null,
      tooLateMs: mostMs,
      values: { lot, phase, sinceMs: startMs, mostMin: (mostMs - startMs) / 60_000 },
      evidence: [evidence],
    },
  };
}

function callOfPiece({ lot, load, station, tempC, minC, evidence }: PieceMeasured): Wish {
  return {
    kind: 'piece-too-cold',
    subject: load ?? lot,
    plannedMs: null,
    about: { station, lots: [lot], ...(load === null ? {} : { load }) },
    present: tempC < minC,
    healed: true,
    raised: {
      station,
      load,
      point: null,
      tooLateMs: null,
      values: { lot, tempC, minC },
      evidence: [evidence],
    },
  };
}

function begin(
  clocks: LotClocks,
  event: LotEvent,
  lot: string,
  kind: ClockKind,
  phase: LotClock['phase'],
): LotClocks {
  const mostMs = mostOf(event.recipe, phase);
  if (mostMs === null) return clocks;
  const clock: LotClock = {
    kind,
    lot,
    station: event.station,
    startMs: event.atMs,
    mostMs: event.atMs + mostMs,
    phase,
    evidence: { what: 'event', ...event.place },
    endedMs: null,
  };
  return { ...clocks, running: [...clocks.running, clock].slice(-mostClocks) };
}

/** Least first: the longest a recipe lets a lot stand in a phase [ms]; null: it does not say. */
function mostOf(recipe: Recipe | null, phase: LotClock['phase']): number | null {
  if (recipe === null) return null;
  if (phase === 'flash-off' || phase === 'recoat') {
    if (recipe.kind !== 'oven') return null;
    const most = phase === 'flash-off' ? recipe.flashOffMin?.most : recipe.recoatH?.most;
    if (most === undefined) return null;
    return most * (phase === 'flash-off' ? 60_000 : 3_600_000);
  }
  const asked = recipe.requirements.find(({ kind }) => kind === 'assembly-time');
  if (asked?.kind !== 'assembly-time') return null;
  const most = phase === 'open' ? asked.openMaxMin : asked.closedMaxMin;
  return most === undefined ? null : most * 60_000;
}

function ended(
  clocks: LotClocks,
  { atMs }: LotEvent,
  lot: string,
  phases: readonly LotClock['phase'][],
): LotClocks {
  const running = clocks.running.map((clock) =>
    clock.lot === lot && clock.endedMs === null && phases.includes(clock.phase)
      ? { ...clock, endedMs: atMs }
      : clock,
  );
  return { ...clocks, running };
}

function measured(clocks: LotClocks, event: LotEvent, lot: string): LotClocks {
  const { tempC, recipe, load, station } = event;
  const asked = recipe?.requirements.find(({ kind }) => kind === 'piece-temperature');
  const minC = asked?.kind === 'piece-temperature' ? asked.minC : undefined;
  if (tempC === null || minC === undefined) return clocks;
  const evidence: CallEvidence = { what: 'event', ...event.place };
  const others = clocks.pieces.filter((piece) => piece.lot !== lot || piece.load !== load);
  const piece = { lot, load, station, tempC, minC, evidence };
  return { ...clocks, pieces: [...others, piece].slice(-mostClocks) };
}
