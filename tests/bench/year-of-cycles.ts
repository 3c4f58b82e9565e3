import type { FaceHistory, HeatUpReport } from '@setwell/shared-models/api/heat-up';
import type { FeatureName, FeatureRow } from '@setwell/shared-models/condition/feature';
import { features, featureNames } from '@setwell/shared-models/condition/feature';
import {
  stationReport,
  summaryOf,
  type StationSummary,
} from '@setwell/shared-models/condition/station-report';
import { seededNormal } from '../fixtures/seeded-normal.ts';

const dayMs = 86_400_000;
export const zones = 20;
const workingDays = 250;
const closingsADay = 34;
/** Minutes that a curve is drawn over. */
const curveMin = 90;

const layout = Array.from({ length: zones }, (_, zone) => ({
  ...{ point: pointOf(zone), zone: String(Math.floor(zone / 2)) },
  ...{ row: zone % 2, rows: 2 },
}));

function pointOf(zone: number): string {
  return `z-${zone}`;
}

/** What a press of twenty zones leaves in a year: each heat-up and each charge with all of their features. */
export function yearOfRows(): FeatureRow[] {
  const normal = seededNormal(3);
  const named = (per: 'heat-up' | 'charge') =>
    featureNames.filter((name) => features[name].per === per);
  const [ofHeatUp, ofCharge] = [named('heat-up'), named('charge')];
  const rows: FeatureRow[] = [];
  const put = (feature: FeatureName, zone: number, atMs: number, startC: number | null) =>
    rows.push({ feature, point: pointOf(zone), atMs, value: 10 + normal(), startC });
  // As the store gives them: by feature, then face, then time.
  for (const feature of [...ofHeatUp, ...ofCharge]) {
    const closings = features[feature].per === 'charge' ? closingsADay : 1;
    for (let zone = 0; zone < zones; zone++) {
      for (let cycle = 0; cycle < workingDays * closings; cycle++) {
        const hours = 6 + (cycle % closings) / 2;
        const atMs = Math.floor(cycle / closings) * dayMs + hours * 3_600_000;
        put(feature, zone, atMs, closings === 1 ? 18 + normal() : null);
      }
    }
  }
  return rows;
}

/** What the Heat-up screen is told of it, from the rows on. */
export function yearReport(rows: readonly FeatureRow[]): {
  report: HeatUpReport;
  summary: StationSummary;
} {
  const controlled = new Set<string>();
  const summary = summaryOf(rows, controlled, []);
  const report = stationReport({
    summary,
    ...{ station: 'press', title: 'press', kind: 'press', readyC: 128, expectedReadyMs: null },
    ...{ nowMs: workingDays * dayMs, layout, controlled, heatUps: [], closings: [], work: [] },
    ...{ surveys: [], nowC: new Map(), silentSinceMs: new Map(), due: [], readUpTo: 1 },
    limitOf: () => ({ inForce: null, approved: null, recipes: [] }),
    costOf: () => null,
  });
  if (report.faces.length !== zones) throw new RangeError('faces are missing');
  return { report, summary };
}

/** A zone's year as its picture is told of it: a dot a heat-up, the newest one over the usual ones. */
export function yearOfFace({ series, conditions }: StationSummary, zone: number): FaceHistory {
  const [point, feature] = [pointOf(zone), 'minutes-to-ready' as const];
  const rows = series.get(`${feature} ${point}`) ?? [];
  const curve = (offC: number) =>
    Array.from({ length: curveMin }, (_, min) => 18 + offC + 120 * (1 - Math.exp(-min / 15)));
  const newest = rows.at(-1);
  if (newest === undefined) throw new RangeError(`${point} has no heat-up`);
  return {
    ...{ station: 'press', point, feature, readyC: 128, recovery: null, marks: [] },
    newest: { startMs: newest.atMs, startC: newest.startC ?? 18, curveC: curve(0) },
    usual: {
      ...{ lowC: curve(-2), highC: curve(2), heatUps: rows.length },
      ...{ startLowC: 17, startHighC: 19 },
    },
    condition: conditions.find((each) => each.point === point && each.feature === feature) ?? null,
    dots: rows.map(({ atMs, value }) => ({ atMs, value })),
  };
}
