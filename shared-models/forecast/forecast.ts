import type { StationKind } from '../plant/plant-schema.ts';
import type { LoadFold } from '../score/fold.ts';
import { stepSecondsOf } from '../score/grid.ts';
import { runLaws } from '../score/laws.ts';
import type { FacePair, Run } from '../score/run.ts';
import type { Forecast, ScoreInput, Verdict } from '../score/shape.ts';
import { decide, judgedWindow, worstVerdict, type JudgedWindow } from '../score/window.ts';
import { copyZone, intervalOf, type ZoneRuns } from '../score/zone-runs.ts';

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

/** What a face does from now on: holds, with a rise at once or a steady fall in the low run. */
interface Onward {
  riseK: number;
  /** Whether a falling face goes on falling in the low run. */
  falls: boolean;
}

/**
 * When an open load will be proven and when it will have been too long, if things go on as now.
 *
 * Faces hold their last values; a face that falls though the charge is long in goes on falling in the
 * low run. Until the platens have recovered from the cold charge the answer is a range: from a
 * recovery at once to none at all.
 *
 * @param fold of the load's readings up to `asOfMs`
 */
export function forecast(input: ScoreInput, fold: LoadFold, asOfMs: number): Forecast | null {
  const zones = fold.zones.filter((zone) => zone !== null);
  if (zones.length === 0) return null;
  const judged = judgedWindow(input.recipe, runLaws(input.recipe.law).nominal.unit);
  const dipK = Math.max(...zones.map((zone) => dipOf(zone, fold, asOfMs)));
  const recovering = dipK > RECOVERED_K && asOfMs < recoveryEndsMs(input);
  const asNow = lookAhead(input, zones, judged, asOfMs, { riseK: 0, falls: !recovering });
  const recovered = recovering
    ? lookAhead(input, zones, judged, asOfMs, { riseK: dipK, falls: false })
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
    overAtMs: recovered.overMs,
    waitingHelps: waitingHelps(recovered, asNow),
    atPlan: asNow.atPlan,
  };
}

function waitingHelps(recovered: Ahead, asNow: Ahead): boolean {
  const provenMs = recovered.provenMs ?? asNow.provenMs;
  if (provenMs === null) return false;
  return asNow.overMs === null || provenMs <= asNow.overMs;
}

/** The recipe's own time for recovery, else ten minutes. */
function recoveryEndsMs({ recipe, startMs }: ScoreInput): number {
  const limit = (recipe.limits ?? []).find(({ phase }) => phase === 'recovery');
  return startMs + (limit?.phase === 'recovery' ? limit.withinMin : 10) * 60_000;
}

/** How far the faces stand below where the load began, at the deepest [K]. */
function dipOf(zone: ZoneRuns, { grid }: LoadFold, asOfMs: number): number {
  const before = nominalAt(zone, grid.startMs);
  const now = nominalAt(zone, asOfMs);
  return Math.max(0, before.upperC - now.upperC, before.lowerC - now.lowerC);
}

function nominalAt({ upper, lower }: ZoneRuns, tMs: number): FacePair {
  upper.at(tMs);
  lower.at(tMs);
  return { upperC: upper.nominal, lowerC: lower.nominal };
}

/** Goes on with copies of the runs. */
function lookAhead(
  input: ScoreInput,
  zones: readonly ZoneRuns[],
  judged: JudgedWindow,
  asOfMs: number,
  onward: Onward,
): Ahead {
  const { kind, surroundingsMinC } = input.station;
  const stepMs = stepSecondsOf(kind) * COARSER[kind] * 1000;
  const copies = zones.map((zone) => copyOf(zone, asOfMs, onward, surroundingsMinC));
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
  held: FacePair;
  low: FacePair;
  fallKPerMs: FacePair;
  coldestC: number;
}

function copyOf(zone: ZoneRuns, asOfMs: number, onward: Onward, coldestC: number): Copy {
  const before = nominalAt(zone, asOfMs - SLOPE_MS);
  const now = nominalAt(zone, asOfMs);
  const slope = (from: number, to: number): number => {
    const perMs = (to - from) / SLOPE_MS;
    return onward.falls && perMs < -FALLING_K_PER_MIN / 60_000 ? perMs : 0;
  };
  const held = { upperC: now.upperC + onward.riseK, lowerC: now.lowerC + onward.riseK };
  return {
    zone: copyZone(zone),
    held,
    low: { ...held },
    fallKPerMs: {
      upperC: slope(before.upperC, now.upperC),
      lowerC: slope(before.lowerC, now.lowerC),
    },
    coldestC,
  };
}

function stepOnward(copy: Copy, fromMs: number, toMs: number): void {
  const { zone, held, low, fallKPerMs, coldestC } = copy;
  const fallen = (nowC: number, perMs: number) =>
    perMs === 0 ? nowC : Math.max(Math.min(coldestC, nowC), nowC + perMs * (toMs - fromMs));
  const next = {
    upperC: fallen(low.upperC, fallKPerMs.upperC),
    lowerC: fallen(low.lowerC, fallKPerMs.lowerC),
  };
  const go = (run: Run, from: FacePair, to: FacePair) => run.step(fromMs, toMs, from, to, null);
  for (const run of zone.lows) go(run, low, next);
  for (const run of [zone.nominal, ...zone.highs]) go(run, held, held);
  copy.low = next;
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
