import type { OtherSignal } from '../../plant/plant-schema.ts';
import type { PointHistory } from '../point-history.ts';
import type { ScoredSignal } from '../shape.ts';
import {
  extremesOf,
  heldThroughout,
  isAsked,
  unheard,
  type Extremes,
  type Limits,
} from './check.ts';
import type { Evidence } from './evidence.ts';
import { endMark, entered, eventsOf } from './evidence.ts';
import type { RequirementCheck } from '../shape.ts';
import type { Requirement } from '../../plant/requirement-schema.ts';

/** 1 bar in N/mm². */
const N_PER_MM2_PER_BAR = 0.1;

/** Without a word on how often it speaks, a point is silent after so many usual spacings. */
const SILENT_IN_SPACINGS = 5;

interface Watched {
  signal: ScoredSignal;
  history: PointHistory;
}

/** The point a requirement names, else the only one that measures such a signal. */
function watched({ input, fold }: Evidence, kind: OtherSignal, point?: string): Watched | null {
  const points = Object.entries(input.signals ?? {}).filter(
    ([id, { signal }]) => signal === kind && (point === undefined || id === point),
  );
  const [only] = points;
  const history = only === undefined ? undefined : fold.histories.get(only[0]);
  if (only === undefined || points.length > 1 || history === undefined) return null;
  return { signal: only[1], history };
}

/** Least and greatest of a signal between two times; null where it was silent all through. */
function extremesBetween(
  { signal, history }: Watched,
  fromMs: number,
  toMs: number,
  perUnit: number,
): Extremes | null {
  const doubt = signal.expanded;
  const silentAfterMs = signal.silentAfterMs ?? SILENT_IN_SPACINGS * (history.spacingMs ?? 0);
  const knowns = [];
  let lastMs = fromMs;
  let broken = false;
  for (let i = 0; i < history.timesMs.length; i += 1) {
    const t = history.timesMs[i];
    if (t > toMs) break;
    if (t < fromMs) continue;
    if (t - lastMs > silentAfterMs) broken = true;
    lastMs = t;
    const value = history.valuesC[i];
    knowns.push({ low: (value - doubt) * perUnit, high: (value + doubt) * perUnit, atMs: t });
  }
  if (toMs - lastMs > silentAfterMs) broken = true;
  return extremesOf(knowns, broken);
}

/** Pressure on the glue lines from pressure-on to release-start. */
export function pressureChecks(
  asked: Extract<Requirement, { kind: 'pressure' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const limits: Limits = {
    least: asked.minNPerMm2 ?? null,
    most: asked.maxNPerMm2 ?? null,
    unit: 'N/mm²',
  };
  const said = extremesOf(entered(eventsOf(evidence, 'pressure-on'), 'nPerMm2', 'expandedNPerMm2'));
  if (asked.coveredBy !== 'measured' && said !== null) {
    return [heldThroughout('pressure', limits, said)];
  }
  const oil = watched(evidence, 'bar', asked.point);
  const ramCm2 = oil?.signal.ramAreaCm2 ?? null;
  if (oil === null || ramCm2 === null || asked.pressedAreaCm2 === undefined) {
    return [unheard('pressure', limits)];
  }
  const fromMs = evidence.input.marks.pressureOn.latestMs;
  const perBar = (N_PER_MM2_PER_BAR * ramCm2) / asked.pressedAreaCm2;
  const found = extremesBetween(oil, fromMs, endMark(evidence.input).earliestMs, perBar);
  return [found === null ? unheard('pressure', limits) : heldThroughout('pressure', limits, found)];
}

/** A fall counts as a step of its own when the pressure has stood still for so long before it [ms]. Common practice, no source. */
const STANDS_MS = 5000;

/** In how many steps the pressure was let off; null where nobody was looking. */
export function releaseSteps(
  evidence: Evidence,
  point: string | undefined,
  fromMs: number,
  toMs: number,
): number | null {
  const oil = watched(evidence, 'bar', point);
  if (oil === null) return null;
  const { timesMs, valuesC: values } = oil.history;
  const standsBar = 2 * oil.signal.expanded;
  let steps = 0;
  let stoodSinceMs = -Infinity;
  let heldBar: number | null = null;
  for (let i = 0; i < timesMs.length; i += 1) {
    if (timesMs[i] > toMs) break;
    if (heldBar === null || timesMs[i] < fromMs) {
      heldBar = values[i];
      continue;
    }
    if (heldBar - values[i] > standsBar) {
      if (timesMs[i] - stoodSinceMs >= STANDS_MS) steps += 1;
      stoodSinceMs = timesMs[i];
      heldBar = values[i];
    }
  }
  return heldBar === null ? null : steps;
}

/** Air about the piece while it cures: its temperature, its moisture, and that it moves. */
export function airChecks(
  asked: Extract<Requirement, { kind: 'air' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const { input, fold } = evidence;
  const fromMs = input.marks.pressureOn.latestMs;
  const toMs = endMark(evidence.input).earliestMs;
  const checks: RequirementCheck[] = [];
  const warmth: Limits = { least: asked.minC ?? null, most: asked.maxC ?? null, unit: '°C' };
  if (isAsked(warmth)) {
    const found = fold.zones.flatMap((zone) => {
      const point = zone?.zone.air ?? null;
      const history = point === null ? undefined : fold.histories.get(point);
      const doubtK = point === null ? 0 : (input.sensors[point]?.expandedK ?? 0);
      const knowns = (history?.timesMs ?? []).flatMap((t, i) => {
        const valueC = history?.valuesC[i] ?? NaN;
        const inside = t >= fromMs && t <= toMs;
        return inside ? [{ low: valueC - doubtK, high: valueC + doubtK, atMs: t }] : [];
      });
      const extremes = extremesOf(
        knowns,
        fold.gaps.some((gap) => gap.point === point),
      );
      return extremes === null ? [] : [heldThroughout('air', warmth, extremes)];
    });
    checks.push(...(found.length > 0 ? found : [unheard('air', warmth)]));
  }
  const moist: Limits = { least: asked.minRhPct ?? null, most: asked.maxRhPct ?? null, unit: '%' };
  if (isAsked(moist)) {
    const rh = watched(evidence, 'percent', asked.point);
    const found = rh === null ? null : extremesBetween(rh, fromMs, toMs, 1);
    checks.push(
      found === null ? unheard('humidity', moist) : heldThroughout('humidity', moist, found),
    );
  }
  if (asked.moving === true) {
    const limits: Limits = { least: 1, most: null, unit: '1' };
    const fan = watched(evidence, 'switch', asked.fan);
    const found = fan === null ? null : extremesBetween(fan, fromMs, toMs, 1);
    checks.push(
      found === null ? unheard('moving', limits) : heldThroughout('moving', limits, found),
    );
  }
  return checks;
}

/** Between the faces of each zone, once the cold charge has been warmed: a greater one warps the piece. */
export function faceDifferenceChecks(
  { maxK }: Extract<Requirement, { kind: 'face-difference' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const { input, fold } = evidence;
  const limits: Limits = { least: null, most: maxK, unit: 'K' };
  const recovery = (input.recipe.limits ?? []).find(({ phase }) => phase === 'recovery');
  const recoveryMin = recovery?.phase === 'recovery' ? recovery.withinMin : USUAL_RECOVERY_MIN;
  const fromMs = input.startMs + recoveryMin * 60_000;
  const toMs = endMark(evidence.input).earliestMs;
  return fold.zones.flatMap((zone) => {
    if (zone === null) return [];
    const { upper, lower } = zone.zone;
    const above = upper === null ? undefined : fold.histories.get(upper);
    const below = lower === null ? undefined : fold.histories.get(lower);
    if (above === undefined || below === undefined || upper === null || lower === null) return [];
    const [upperK, lowerK] = [upper, lower].map((point) => input.sensors[point]?.expandedK ?? 0);
    // Two instruments, each with its own doubt.
    const doubtK = Math.sqrt(upperK * upperK + lowerK * lowerK);
    let j = 0;
    const knowns = above.timesMs.flatMap((t, i) => {
      while (j + 1 < below.timesMs.length && below.timesMs[j + 1] <= t) j += 1;
      if (t < fromMs || t > toMs || j >= below.timesMs.length) return [];
      if (Math.abs(below.timesMs[j] - t) > SAME_TIME_MS) return [];
      const apartK = Math.abs(above.valuesC[i] - below.valuesC[j]);
      return [{ low: Math.max(0, apartK - doubtK), high: apartK + doubtK, atMs: t }];
    });
    const broken = fold.gaps.some(
      ({ point, fromMs: sinceMs, toMs: untilMs }) =>
        (point === upper || point === lower) && (untilMs ?? toMs) > fromMs && sinceMs < toMs,
    );
    const extremes = extremesOf(knowns, broken);
    return [
      extremes === null
        ? unheard(`face-difference ${zone.zone.id}`, limits)
        : heldThroughout(`face-difference ${zone.zone.id}`, limits, extremes),
    ];
  });
}

/** After loading the faces differ by the charge, for so long, unless the recipe says it [min]. */
const USUAL_RECOVERY_MIN = 10;

/** Readings of two faces count as of one time within so much [ms]. */
const SAME_TIME_MS = 30_000;
