import type { FeatureName, FeatureRow } from '@setwell/shared-models/condition/feature';
import { features, featureNames } from '@setwell/shared-models/condition/feature';
import { StationCycles } from '@setwell/shared-models/condition/station-cycles';
import { stationReport, summaryOf } from '@setwell/shared-models/condition/station-report';
import { seededNormal } from '../fixtures/seeded-normal.ts';
import { median, type BenchRow } from './bench-row.ts';
import { processorSince } from './processor-time.ts';

const rounds = 5;
const dayMs = 86_400_000;

/** A year of cycles read back, and everything a plant's points tell of their cycles as they speak. */
export function conditionBench(): BenchRow[] {
  return [yearSummarised(), liveDetection()];
}

const zones = 20;
const workingDays = 250;
const closingsADay = 34;
const summaryAllowedS = 1;

/** What a press of twenty zones leaves in a year: each heat-up and each charge with all of their features. */
function yearOfRows(): FeatureRow[] {
  const normal = seededNormal(3);
  const named = (per: 'heat-up' | 'charge') =>
    featureNames.filter((name) => features[name].per === per);
  const [ofHeatUp, ofCharge] = [named('heat-up'), named('charge')];
  const rows: FeatureRow[] = [];
  const put = (feature: FeatureName, zone: number, atMs: number, startC: number | null) =>
    rows.push({ feature, point: `z-${zone}`, atMs, value: 10 + normal(), startC });
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

function yearSummarised(): BenchRow {
  const rows = yearOfRows();
  const layout = Array.from({ length: zones }, (_, zone) => ({
    ...{ point: `z-${zone}`, zone: String(Math.floor(zone / 2)) },
    ...{ row: zone % 2, rows: 2 },
  }));
  const controlled = new Set<string>();
  const runs = Array.from({ length: rounds }, () => {
    const before = process.cpuUsage();
    const summary = summaryOf(rows, controlled, []);
    const report = stationReport({
      summary,
      ...{
        station: 'press',
        title: 'press',
        kind: 'press',
        nowMs: workingDays * dayMs,
        readyC: 128,
      },
      ...{ layout, controlled, heatUps: [], closings: [], work: [] },
      ...{ surveys: [], nowC: new Map(), silentSinceMs: new Map(), due: [], readUpTo: 1 },
      limitOf: () => ({ inForce: null, approved: null, recipes: [] }),
      costOf: () => null,
    });
    if (report.faces.length !== zones) throw new RangeError('faces are missing');
    return processorSince(before);
  });
  const value = median(runs);
  return {
    name: 'a year of cycles of 20 zones summarised',
    ...{
      baseline: 'limit, a second',
      aim: 1,
      ratio: summaryAllowedS / value,
      value,
      unit: 's',
      runs,
    },
  };
}

const stations = 50;
const facesEach = 10;
const seconds = 300;
/** Of one core: a twentieth of each second. */
const shareAllowed = 0.05;

function liveDetection(): BenchRow {
  const watched = Array.from({ length: stations }, (_, station) => {
    const faces = Array.from({ length: facesEach }, (_, i) => ({
      point: `p-${station}-${i}`,
      depthMm: 3,
    }));
    const finder = { edges: [], faces, hotC: 100 };
    return new StationCycles({ station: `s-${station}`, finder, readyC: 128, outputs: [] });
  });
  let clockS = 0;
  const runs = Array.from({ length: rounds }, () => {
    const before = process.cpuUsage();
    for (let s = 0; s < seconds; s += 1) {
      clockS += 1;
      // A charge each ten minutes: levels, dips and ways back are all in it.
      const dipK = 13 * Math.exp(-(clockS % 600) / 100);
      watched.forEach((cycles, station) => {
        for (let i = 0; i < facesEach; i += 1) {
          const c = 138 - dipK + 0.1 * Math.sin(i + 7.1 * clockS);
          cycles.take(`p-${station}-${i}`, clockS * 1000, Math.round(10 * c) / 10);
        }
      });
    }
    return processorSince(before) / seconds;
  });
  const value = median(runs);
  return {
    name: 'live detection, 500 points at 1 Hz',
    baseline: 'limit, a twentieth of one core',
    ...{ aim: 1, ratio: shareAllowed / value, value, unit: 'cores', runs },
  };
}
