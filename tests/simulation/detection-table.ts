import { featureNames, features, type FeatureName } from '@setwell/shared-models/condition/feature';
import type { FeatureRow } from '@setwell/shared-models/condition/feature';
import { callsOfFeature } from '@setwell/shared-models/condition/zone-condition';
import { runsOf } from '@setwell/shared-models/condition/run';
import type { PlateNature } from '@setwell/deploy/demo/plate';
import { dayMs, faces, featuresOf } from '../fixtures/condition-press.ts';

/** What becomes of a plate so many days after its onset. */
export type Fault = (nature: PlateNature, daysSince: number) => PlateNature;

export const sound: Fault = (nature) => nature;

/** Faults of known size at the upper face. */
export const faults: Record<string, Fault> = {
  'heater power −10 %': (n) => ({ ...n, heaterWPerM2: 0.9 * n.heaterWPerM2 }),
  'heater power −20 %': (n) => ({ ...n, heaterWPerM2: 0.8 * n.heaterWPerM2 }),
  'holds 1 K lower': (n) => ({ ...n, offsetK: n.offsetK - 1 }),
  'holds 3 K lower': (n) => ({ ...n, offsetK: n.offsetK - 3 }),
  'core to skin −20 % (clogged)': (n) => ({ ...n, coreToSkinWPerM2K: 0.8 * n.coreToSkinWPerM2K }),
  'loss +50 % (lagging gone)': (n) => ({ ...n, lossWPerM2K: 1.5 * n.lossWPerM2K }),
  'falls by 1.2 K a month': (n, days) => ({ ...n, offsetK: n.offsetK - (1.2 / 30) * days }),
};

/** A step is found within five cycles of what shows it; a slow decline while it is still small. */
export const most: Record<string, number> = { 'falls by 1.2 K a month': 25 };

const faultDay = 45;
export const closingsADay = 4;

export function of(rows: readonly FeatureRow[], feature: FeatureName, point: string): FeatureRow[] {
  return runsOf(rows.filter((row) => row.feature === feature && row.point === point));
}

/** The calls of one feature that say it has become worse. */
function worseCalls(rows: readonly FeatureRow[]) {
  const { worse } = features[rows[0]?.feature ?? 'settling'];
  const side = worse === 'more' ? 'high' : 'low';
  return worse === null ? [] : callsOfFeature(rows).filter((call) => call.side === side);
}

/** First call after the fault, by the feature that called first, with cycles of it since. */
function detection(rows: readonly FeatureRow[]): { feature: FeatureName; cycles: number } | null {
  const onsetMs = faultDay * dayMs;
  const calls = featureNames.flatMap((feature) =>
    ['up', 'press', 'out'].flatMap((point) => {
      const own = of(rows, feature, point);
      const call = worseCalls(own).find(({ row }) => (own[row]?.atMs ?? 0) >= onsetMs);
      if (call === undefined) return [];
      const before = own.filter(({ atMs }) => atMs < onsetMs).length;
      return [{ feature, atMs: own[call.row]?.atMs ?? 0, cycles: call.row - before + 1 }];
    }),
  );
  return calls.sort((a, b) => a.atMs - b.atMs)[0] ?? null;
}

/** One fault of the press: by what it is found, and after how many cycles. */
export function detected(name: string, seed: number): { feature: string; cycles: number } {
  const fault = faults[name] ?? sound;
  const rows = featuresOf({ days: faultDay + 40, faultDay, fault, closingsADay, seed });
  const found = detection(rows);
  return { feature: found?.feature ?? '-', cycles: found?.cycles ?? Infinity };
}

/** Calls of a steady press by face, over all features together: 245 heat-ups and 980 charges. */
export function falseCalls(rows: readonly FeatureRow[]): { point: string; calls: number }[] {
  return faces.map((point) => {
    const calls = featureNames.flatMap((feature) => worseCalls(of(rows, feature, point)));
    return { point, calls: calls.length };
  });
}

/** @throws Error naming the fault that was found late, or the face that called for nothing */
export function watchPress(seed: number): void {
  for (const name of Object.keys(faults)) {
    const { cycles } = detected(name, seed);
    // Twice what the table promises: one press of many may be that late by its own scatter.
    if (cycles > 2 * (most[name] ?? 5)) throw new Error(`${name}: found after ${cycles} cycles`);
  }
  const steady = featuresOf({ days: 245, faultDay: Infinity, fault: sound, closingsADay, seed });
  for (const { point, calls } of falseCalls(steady)) {
    if (calls > 1) throw new Error(`${point}: ${calls} false calls`);
  }
}
