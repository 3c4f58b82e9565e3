import type { FeatureName } from './feature.ts';
import type { FeatureCondition, ZoneState } from './zone-condition.ts';

/** What may lie behind a weakening. A hint for whoever goes and looks, never a finding. */
export type Cause =
  /** The zone heats more slowly and holds lower: its heater, or the channel that feeds it. */
  | 'heater'
  /** All zones of the station together: what feeds them all. */
  | 'supply'
  /** All zones of one platen: that side's valve, phase or lagging. */
  | 'side'
  /** It comes back later from the charge and no less hot: less heat gets from the core to the face. */
  | 'seat'
  /** Deeper and longer dips at every charge with the level held: the power is gone that fills them up. */
  | 'power'
  /** The reading breaks off for moments. */
  | 'loose-element'
  /** More output for the same temperature and a faster cooling: heat is lost. */
  | 'lagging'
  /** The gauge falls while the press holds. */
  | 'hydraulics'
  /** Only the level has moved, and neither heating nor recovery: the element, or its controller's. */
  | 'element-drift';

export interface CauseHint {
  cause: Cause;
  /** Points it is about; all of the station's faces where it is the supply. */
  points: string[];
  /** Features that speak for it, of those that could. */
  evidence: { feature: FeatureName; point: string }[];
  /** Share of what would have to be so that is so, 0 to 1: an order, no probability. */
  weight: number;
}

export interface CauseInput {
  /** Conditions of the station's features. */
  conditions: readonly FeatureCondition[];
  /** Faces by the platen (or zone) they belong to, in plant order. */
  sides: readonly (readonly string[])[];
}

/** What each cause shows at the faces it is about. */
const signs: Record<Exclude<Cause, 'supply' | 'side' | 'hydraulics'>, FeatureName[]> = {
  heater: ['minutes-to-ready', 'rate-at-100', 'hold-level'],
  seat: ['recovery'],
  power: ['recovery', 'dip-depth'],
  'loose-element': ['open-circuits'],
  lagging: ['idle-loss', 'output-at-hold'],
  'element-drift': ['hold-level'],
};

/** What must not have moved for it to be that. */
const against: Partial<Record<Cause, FeatureName[]>> = {
  seat: ['hold-level', 'rate-at-100'],
  power: ['hold-level'],
  'element-drift': ['minutes-to-ready', 'rate-at-60', 'rate-at-100', 'recovery'],
};

/**
 * Likely causes, those with more evidence first; none where nothing weakens.
 *
 * Common practice, no source: what a fitter would look at first for such a pattern.
 */
export function likelyCauses({ conditions, sides }: CauseInput): CauseHint[] {
  const faces = sides.flat();
  const stateOf = (feature: FeatureName, point: string): ZoneState | null =>
    conditions.find((each) => each.feature === feature && each.point === point)?.state ?? null;
  const weakens = (feature: FeatureName, point: string) => stateOf(feature, point) === 'weakens';
  const slow = faces.filter((point) =>
    (['minutes-to-ready', 'rate-at-100', 'hold-level'] as const).some((each) =>
      weakens(each, point),
    ),
  );
  const hints: CauseHint[] = [];
  for (const point of faces) {
    for (const [cause, wanted] of Object.entries(signs) as [keyof typeof signs, FeatureName[]][]) {
      const known = wanted.filter((feature) => judged(stateOf(feature, pointOf(feature, point))));
      const seen = known.filter((feature) => weakens(feature, pointOf(feature, point)));
      const contradicted = (against[cause] ?? []).some((feature) => weakens(feature, point));
      if (seen.length === 0 || contradicted) continue;
      const evidence = seen.map((feature) => ({ feature, point: pointOf(feature, point) }));
      hints.push({ cause, points: [point], evidence, weight: seen.length / wanted.length });
    }
  }
  const evidence = slow.map((point) => ({ feature: 'minutes-to-ready' as const, point }));
  if (faces.length > 1 && slow.length === faces.length) {
    hints.push({ cause: 'supply', points: faces, evidence, weight: 1 });
  } else {
    for (const side of sides) {
      const all = side.length > 1 && side.every((point) => slow.includes(point));
      if (all && slow.length === side.length) {
        hints.push({ cause: 'side', points: [...side], evidence, weight: 0.9 });
      }
    }
  }
  const gauges = conditions.filter(
    ({ feature, state }) => feature === 'pressure-decay' && state === 'weakens',
  );
  for (const { feature, point } of gauges) {
    hints.push({ cause: 'hydraulics', points: [point], evidence: [{ feature, point }], weight: 1 });
  }
  return hints.sort((a, b) => b.weight - a.weight || b.evidence.length - a.evidence.length);

  /** An output is the station's, or its one face's: whatever output there is speaks for every face. */
  function pointOf(feature: FeatureName, point: string): string {
    if (feature !== 'output-at-hold') return point;
    return conditions.find((each) => each.feature === feature)?.point ?? point;
  }
}

function judged(state: ZoneState | null): boolean {
  return state !== null && state !== 'too-few';
}
