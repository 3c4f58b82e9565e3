import { gapCosts } from './budget.ts';
import { spansOf } from './fitted-span.ts';
import { pointsOf, type LoadFold } from './fold.ts';
import { followsAir } from './piece.ts';
import type { BudgetRow, JudgedPlace, Reason, RequirementResult, ScoreInput } from './shape.ts';
import { isStale } from './start.ts';
import type { JudgedWindow } from './window.ts';

/** Heating that one-dimensional conduction cannot follow: a reading in the piece, a trial or a test carries it. */
const NO_CONDUCTION = ['radio-frequency', 'infrared', 'ultraviolet'];

export function isRefused({ station }: ScoreInput): boolean {
  return NO_CONDUCTION.includes(station.heating);
}

/** Why a verdict is what it is, the nearest reason first. */
export function reasonsOf(
  input: ScoreInput,
  fold: LoadFold,
  { window }: JudgedWindow,
  worst: JudgedPlace | null,
  requirements: readonly RequirementResult[],
  budget: readonly BudgetRow[],
): Reason[] {
  const reasons: Reason[] = [];
  if (isRefused(input)) {
    const because = 'conduction cannot follow it';
    reasons.push({ code: 'refused', what: input.station.heating, because });
  }
  fold.zones.forEach((zone, index) => {
    if (zone !== null) return;
    const what = input.zones[index].id;
    reasons.push({ code: 'refused', what, because: 'the recipe has no lay-up there' });
  });
  if (worst !== null) {
    const { zone, glueLine, low, high } = worst;
    if (low < window.least) {
      reasons.push({ code: 'low-misses-least', by: window.least - low, zone, glueLine });
    }
    if (window.most !== null && high > window.most) {
      reasons.push({ code: 'high-passes-most', by: high - window.most, zone, glueLine });
    }
  }
  reasons.push(...unreadPoints(input, fold), ...untrustedPoints(input), ...startReasons(fold));
  const gapDown = budget.find(({ term }) => term === 'gap')?.down ?? 0;
  const costs = worst === null ? null : gapCosts(fold, worst, gapDown);
  for (const gap of fold.gaps) {
    const { point, fromMs, toMs } = gap;
    const cost = costs?.get(gap) ?? 0;
    reasons.push({ code: 'gap', point, fromMs, toMs: toMs ?? input.asOfMs, cost });
  }
  for (const { kind, verdict } of requirements) {
    if (verdict === 'not-monitored' || verdict === 'in-window') continue;
    reasons.push({ code: 'requirement', kind, verdict });
  }
  const { pressureOn, releaseStart } = input.marks;
  if (pressureOn.assumed === true || releaseStart?.assumed === true) {
    reasons.push({ code: 'marks-assumed' });
  }
  return reasons;
}

/** Points whose instrument vouches for nothing, and those in whose readings a fault was found. */
function untrustedPoints(input: ScoreInput): Reason[] {
  return pointsOf(input).flatMap((point): Reason[] => {
    const sensor = input.sensors[point];
    if (sensor === undefined) return [];
    const because = spansOf(sensor).find((span) => span.sensor?.unproven)?.sensor?.unproven;
    const faults = (sensor.doubted ?? []).map((each): Reason => ({
      code: 'fault',
      point,
      ...each,
    }));
    return because === undefined
      ? faults
      : [{ code: 'unproven-instrument', point, because }, ...faults];
  });
}

/** Faces without a point, and points that never read. */
function unreadPoints(input: ScoreInput, { histories, zones }: LoadFold): Reason[] {
  return input.zones.flatMap(({ id, upper, lower, air, belt }, index) => {
    const open = zones[index]?.piece.openFace ?? null;
    const ofBelt = belt === undefined ? [] : [...belt.zones.map((each) => each.air), belt.speed];
    const faces =
      belt !== undefined
        ? ofBelt
        : air !== null
          ? [air]
          : [open === 'upper' ? null : upper, open === 'lower' ? null : lower];
    const named = faces.filter(
      (point, face) => point !== null || (open === null && air === null && face < 2),
    );
    return named.flatMap((point): Reason[] =>
      point !== null && (histories.get(point)?.timesMs.length ?? 0) > 0
        ? []
        : [{ code: 'no-reading', zone: id, point }],
    );
  });
}

/** Start points that were silent, or spoke long before the load. */
function startReasons({ zones }: LoadFold): Reason[] {
  return zones.flatMap((each): Reason[] => {
    if (each === null || followsAir(each.piece)) return [];
    const { point, ageMs } = each.start;
    const zone = each.zone.id;
    if (point === null) return [];
    if (ageMs === null) return [{ code: 'no-reading', zone, point }];
    return isStale(each.start) ? [{ code: 'start-stale', zone, point, ageMs }] : [];
  });
}
