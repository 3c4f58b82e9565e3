import type { StationKind } from '../plant/plant-schema.ts';
import type { FaceCourse } from '../score/envelope.ts';
import type { LoadFold } from '../score/fold.ts';
import { stepSecondsOf } from '../score/grid.ts';
import { isRefused } from '../score/reasons.ts';
import { runLaws } from '../score/laws.ts';
import type { FacePair } from '../score/run.ts';
import type { Forecast, ScoreInput, Verdict } from '../score/shape.ts';
import { decide, judgedWindow, worstVerdict, type JudgedWindow } from '../score/window.ts';
import {
  copyZone,
  intervalOf,
  stepRuns,
  type FaceEnds,
  type ZoneRuns,
} from '../score/zone-runs.ts';

/** How far ahead it is worth looking: past it the answer is "not like this" [s]. */
const AHEAD_S: Record<StationKind, number> = {
  press: 3 * 3600,
  bench: 12 * 3600,
  oven: 6 * 3600,
  rack: 72 * 3600,
  store: 90 * 86_400,
};

/** Looking ahead needs no finer a step than so many of the load's own. */
const COARSER: Record<StationKind, number> = { press: 5, bench: 5, oven: 2, rack: 1, store: 6 };

/** A face counts as recovered within so much of where it stood before the charge [K]. */
const RECOVERED_K = 2;

/** A supply that fails shows in the slope of the last two minutes. */
const SLOPE_MS = 120_000;

/** Slower falls are the platen's own swing [K/min]. */
const FALLING_K_PER_MIN = 0.25;

interface Ahead {
  provenMs: number | null;
  overMs: number | null;
  atPlan: { low: number; high: number; verdict: Verdict } | null;
}

/** What the faces do from now on. */
interface Onward {
  /** They stand at once where they stood before the charge. */
  recovers: boolean;
  /** A falling face goes on falling in the low run. */
  falls: boolean;
  /** A silent point speaks again at once; else what it may read opens further and further. */
  speaks: boolean;
}

/**
 * When an open load will be proven and when it will have been too long, if things go on as now.
 *
 * Faces hold their last values; a face that falls though the charge is long in goes on falling in the
 * low run. Until the platens have recovered from the cold charge the answer is a range: from a
 * recovery at once to none at all. So it is while a point is silent: from readings as before to
 * silence for good.
 *
 * @param fold of the load's readings up to `asOfMs`
 */
export function forecast(input: ScoreInput, fold: LoadFold, asOfMs: number): Forecast | null {
  const zones = fold.zones.filter((zone) => zone !== null);
  // What conduction cannot follow, it cannot foretell.
  if (zones.length === 0 || isRefused(input)) return null;
  const judged = judgedWindow(input.recipe, runLaws(input.recipe.law).nominal.unit);
  const dipK = Math.max(...zones.map((zone) => dipOf(zone, fold, asOfMs)));
  const recovering = dipK > RECOVERED_K && asOfMs < recoveryEndsMs(input);
  const silent = new Set(fold.gaps.flatMap(({ point, toMs }) => (toMs === null ? [point] : [])));
  const look = (onward: Onward) => lookAhead(input, fold, silent, judged, asOfMs, onward);
  const asNow = look({ recovers: false, falls: !recovering, speaks: false });
  const recovered =
    recovering || silent.size > 0
      ? look({ recovers: recovering, falls: !recovering, speaks: true })
      : asNow;
  const calendarMs =
    judged.calendarLeastMs === null
      ? asOfMs
      : input.marks.pressureOn.latestMs + judged.calendarLeastMs;
  const later = (ms: number | null) => (ms === null ? null : Math.max(ms, calendarMs));
  const { provenMs } = asNow;
  return {
    provenAtMs: later(provenMs ?? recovered.provenMs),
    provenEarliestMs: later(recovered.provenMs),
    provenLatestMs: later(provenMs),
    overAtMs: soonerOf(recovered.overMs, asNow.overMs),
    waitingHelps: waitingHelps(recovered, asNow),
    atPlan: asNow.atPlan,
  };
}

function soonerOf(a: number | null, b: number | null): number | null {
  if (a === null || b === null) return a ?? b;
  return Math.min(a, b);
}

/** Whether anything that may come from now on proves the load before it has been too long. */
function waitingHelps(recovered: Ahead, asNow: Ahead): boolean {
  const provenMs = soonerOf(recovered.provenMs, asNow.provenMs);
  if (provenMs === null) return false;
  if (recovered.overMs === null || asNow.overMs === null) return true;
  return provenMs <= Math.max(recovered.overMs, asNow.overMs);
}

/** The recipe's own time for recovery, else ten minutes. */
function recoveryEndsMs({ recipe, startMs }: ScoreInput): number {
  const limit = (recipe.limits ?? []).find(({ phase }) => phase === 'recovery');
  return startMs + (limit?.phase === 'recovery' ? limit.withinMin : 10) * 60_000;
}

/** How far the faces stand below where the load began, at the deepest [K]. */
function dipOf({ upper, lower }: ZoneRuns, { grid }: LoadFold, asOfMs: number): number {
  return Math.max(dipOfFace(upper, grid.startMs, asOfMs), dipOfFace(lower, grid.startMs, asOfMs));
}

function dipOfFace(face: FaceCourse, startMs: number, asOfMs: number): number {
  return Math.max(0, nominalAt(face, startMs) - nominalAt(face, asOfMs));
}

function nominalAt(face: FaceCourse, tMs: number): number {
  face.at(tMs);
  return face.nominal;
}

/** Goes on with copies of the runs. */
function lookAhead(
  input: ScoreInput,
  fold: LoadFold,
  silent: ReadonlySet<string>,
  judged: JudgedWindow,
  asOfMs: number,
  onward: Onward,
): Ahead {
  const { kind, surroundingsMinC } = input.station;
  const stepMs = stepSecondsOf(kind) * COARSER[kind] * 1000;
  const courseOf = (face: FaceCourse, points: readonly string[]): Course => {
    const isSilent = face.neverRead || points.some((point) => silent.has(point));
    if (isSilent && !(onward.speaks && !face.neverRead)) return opening(face);
    return holding(face, fold.grid.startMs, asOfMs, onward, surroundingsMinC);
  };
  const copies = fold.zones
    .filter((zone) => zone !== null)
    .map((zone): Copy => {
      const { upper, lower, air, belt } = zone.zone;
      const ofBelt = belt === undefined ? [] : [...belt.zones.map((each) => each.air), belt.speed];
      const pointsOf = (point: string | null) => (point === null ? ofBelt : [point]);
      return {
        zone: copyZone(zone),
        upper: courseOf(zone.upper, pointsOf(air ?? upper)),
        lower: courseOf(zone.lower, pointsOf(air ?? lower)),
      };
    });
  const planMs =
    input.plannedEndMs !== null && input.plannedEndMs > asOfMs ? input.plannedEndMs : null;
  const { least, most } = judged.window;
  const ahead: Ahead = { provenMs: null, overMs: null, atPlan: null };
  const horizonMs = asOfMs + AHEAD_S[kind] * 1000;
  let t = asOfMs;
  for (;;) {
    const ends = copies.flatMap(({ zone }) => endsOf(zone, judged));
    const low = Math.min(...ends.map((end) => end.low));
    const high = Math.max(...ends.map((end) => end.high));
    if (ahead.provenMs === null && low >= least) ahead.provenMs = t;
    if (ahead.overMs === null && most !== null && high > most) ahead.overMs = t;
    if (planMs !== null && t === planMs) {
      ahead.atPlan = { low, high, verdict: verdictOf(ends, judged) };
    }
    const settled =
      (ahead.provenMs !== null || ahead.overMs !== null) &&
      (ahead.overMs !== null || most === null);
    if ((settled && (planMs === null || t >= planMs)) || t >= horizonMs) return ahead;
    const nextMs = planMs !== null && t < planMs ? Math.min(t + stepMs, planMs) : t + stepMs;
    for (const copy of copies) stepOnward(copy, t, nextMs);
    t = nextMs;
  }
}

interface Copy {
  zone: ZoneRuns;
  upper: Course;
  lower: Course;
}

/** A face's temperature at a time from now on [°C]. */
type Course = (tMs: number) => { low: number; nominal: number; high: number };

/** Nothing more is read: the ends part as fast as the station allows. */
function opening(face: FaceCourse): Course {
  return (tMs) => {
    face.at(tMs);
    const { low, nominal, high } = face;
    return { low, nominal, high };
  };
}

/** Readings go on as they are. */
function holding(
  face: FaceCourse,
  startMs: number,
  asOfMs: number,
  { recovers, falls }: Onward,
  coldestC: number,
): Course {
  const perMs = (nominalAt(face, asOfMs) - nominalAt(face, asOfMs - SLOPE_MS)) / SLOPE_MS;
  const fallPerMs = falls && perMs < -FALLING_K_PER_MIN / 60_000 ? perMs : 0;
  const heldC = nominalAt(face, asOfMs) + (recovers ? dipOfFace(face, startMs, asOfMs) : 0);
  const { apartK } = face;
  if (face.moves === true) {
    return (tMs) => {
      face.at(tMs);
      const { nominal } = face;
      return { low: nominal - apartK, nominal, high: nominal + apartK };
    };
  }
  const floorC = Math.min(coldestC, heldC);
  return (tMs) => ({
    low: Math.max(floorC, heldC + fallPerMs * (tMs - asOfMs) - apartK),
    nominal: heldC,
    high: heldC + apartK,
  });
}

function stepOnward({ zone, upper, lower }: Copy, fromMs: number, toMs: number): void {
  const at = (tMs: number): FaceEnds => {
    const [u, l] = [upper(tMs), lower(tMs)];
    const pair = (end: 'low' | 'high'): FacePair => ({ upperC: u[end], lowerC: l[end] });
    return {
      low: pair('low'),
      nominal: {
        upperC: zone.upper.neverRead ? l.nominal : u.nominal,
        lowerC: zone.lower.neverRead ? u.nominal : l.nominal,
      },
      high: pair('high'),
    };
  };
  stepRuns(zone, fromMs, toMs, at(fromMs), at(toMs));
}

function endsOf(zone: ZoneRuns, { perLawUnit }: JudgedWindow) {
  return zone.piece.spots.map((_spot, spot) => {
    const { low, nominal, high } = intervalOf(zone, spot);
    return { low: low * perLawUnit, nominal: nominal * perLawUnit, high: high * perLawUnit };
  });
}

function verdictOf(ends: ReturnType<typeof endsOf>, { window }: JudgedWindow): Verdict {
  return worstVerdict(ends.map((end) => decide(end, window).verdict));
}
