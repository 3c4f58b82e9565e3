import type { LoadFold, ZoneFold } from '../score/fold.ts';
import { intervalOf } from '../score/fold.ts';
import { stepSecondsOf } from '../score/grid.ts';
import { runLaws } from '../score/laws.ts';
import { Run } from '../score/run.ts';
import type { Forecast, ScoreInput, Verdict } from '../score/shape.ts';
import { decide, judgedWindow, worstVerdict, type JudgedWindow } from '../score/window.ts';
import type { StationKind } from '../plant/plant-schema.ts';

/** How far ahead it is worth looking: past it the answer is "not like this" [s]. */
const AHEAD_S: Record<StationKind, number> = {
  press: 3 * 3600,
  bench: 12 * 3600,
  oven: 6 * 3600,
  rack: 72 * 3600,
  store: 90 * 86_400,
};

/** Looking ahead needs no finer a step than so many to the least horizon. */
const COARSER: Record<StationKind, number> = { press: 5, bench: 5, oven: 2, rack: 1, store: 6 };

/** A face counts as recovered within so much of where it stood before the charge [K]. */
const RECOVERED_K = 2;

interface Ahead {
  provenMs: number | null;
  overMs: number | null;
  atPlan: { low: number; high: number; verdict: Verdict } | null;
}

/**
 * When an open load will be proven and when it will have been too long, if things go on as now.
 *
 * Faces hold their last values. Until the platens have recovered from the cold charge the answer is
 * a range: from a recovery at once to none at all.
 *
 * @param fold of the load's readings up to `asOfMs`
 */
export function forecast(input: ScoreInput, fold: LoadFold, asOfMs: number): Forecast | null {
  const zones = fold.zones.filter((zone) => zone !== null);
  if (zones.length === 0) return null;
  const judged = judgedWindow(input.recipe, runLaws(input.recipe.law).nominal.unit);
  const asNow = lookAhead(input, zones, judged, asOfMs, 0);
  const dipK = Math.max(...zones.map(dipOf));
  const recovered = dipK > RECOVERED_K ? lookAhead(input, zones, judged, asOfMs, dipK) : asNow;
  const calendarMs =
    judged.calendarLeastMs === null ? asOfMs : input.startMs + judged.calendarLeastMs;
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

/** How far the faces stand below where the load began, at the deepest [K]. */
function dipOf({ paths }: ZoneFold): number {
  const last = paths.upper.nominal.length - 1;
  const upperK = paths.upper.nominal[0] - paths.upper.nominal[last];
  const lowerK = paths.lower.nominal[0] - paths.lower.nominal[last];
  return Math.max(0, upperK, lowerK);
}

/** Goes on with copies of the runs, all faces held `riseK` above their last nominal values. */
function lookAhead(
  input: ScoreInput,
  zones: ZoneFold[],
  judged: JudgedWindow,
  asOfMs: number,
  riseK: number,
): Ahead {
  const { kind } = input.station;
  const stepMs = stepSecondsOf(kind) * COARSER[kind] * 1000;
  const copies = zones.map((zone) => copyOf(zone, riseK));
  const planMs =
    input.plannedEndMs !== null && input.plannedEndMs > asOfMs ? input.plannedEndMs : null;
  const ahead: Ahead = { provenMs: null, overMs: null, atPlan: null };
  const horizonMs = asOfMs + AHEAD_S[kind] * 1000;
  let t = asOfMs;
  for (;;) {
    const ends = copies.flatMap(({ zone }) => endsOf(zone, judged));
    const low = Math.min(...ends.map((end) => end.low));
    const high = Math.max(...ends.map((end) => end.high));
    if (ahead.provenMs === null && low >= judged.window.least) ahead.provenMs = t;
    if (ahead.overMs === null && judged.window.most !== null && high > judged.window.most) {
      ahead.overMs = t;
    }
    if (planMs !== null && t === planMs)
      ahead.atPlan = { low, high, verdict: verdictOf(ends, judged) };
    const settled =
      ahead.provenMs !== null && (ahead.overMs !== null || judged.window.most === null);
    if ((settled && (planMs === null || t >= planMs)) || t >= horizonMs) return ahead;
    const nextMs = planMs !== null && t < planMs ? Math.min(t + stepMs, planMs) : t + stepMs;
    for (const copy of copies) stepHeld(copy, t, nextMs);
    t = nextMs;
  }
}

interface Copy {
  zone: ZoneFold;
  upperC: number;
  lowerC: number;
}

function copyOf(zone: ZoneFold, riseK: number): Copy {
  const last = zone.paths.upper.nominal.length - 1;
  const again = (run: Run) => new Run({ ...run.plan, order: 1 }, run);
  return {
    zone: {
      ...zone,
      nominal: again(zone.nominal),
      lows: zone.lows.map(again),
      highs: zone.highs.map(again),
    },
    upperC: zone.paths.upper.nominal[last] + riseK,
    lowerC: zone.paths.lower.nominal[last] + riseK,
  };
}

function stepHeld({ zone, upperC, lowerC }: Copy, fromMs: number, toMs: number): void {
  for (const run of [zone.nominal, ...zone.lows, ...zone.highs]) {
    run.step(fromMs, toMs, upperC, upperC, lowerC, lowerC, null);
  }
}

function endsOf(zone: ZoneFold, { perLawUnit }: JudgedWindow) {
  return zone.piece.spots.map((_spot, spot) => {
    const { low, nominal, high } = intervalOf(zone, spot);
    return { low: low * perLawUnit, nominal: nominal * perLawUnit, high: high * perLawUnit };
  });
}

function verdictOf(ends: ReturnType<typeof endsOf>, { window }: JudgedWindow): Verdict {
  return worstVerdict(ends.map((end) => decide(end, window).verdict));
}
