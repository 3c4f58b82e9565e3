import { readPlant } from '@setwell/shared-models/plant/read-plant';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import { measuresTemperature } from '@setwell/shared-models/plant/plant';
import { scoreReadings } from '@setwell/shared-models/score/score';
import { scoredSensor } from '@setwell/shared-models/score/scored-sensor';
import {
  scoredSignals,
  scoredStation,
  scoredZones,
} from '@setwell/shared-models/score/scored-station';
import type { RawReading } from '@setwell/shared-models/score/readings';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { planWeights } from '@setwell/shared-models/score/weigh';
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { exactly, pressLoad } from '../fixtures/press-load.ts';

const minute = 60_000;
const demo = (file: string) =>
  readFileSync(new URL(`../../deploy/demo/${file}`, import.meta.url), 'utf8');

function read<T>(answer: { ok: true; value: T } | { ok: false }): T {
  if (!answer.ok) throw new Error('the demo is refused');
  return answer.value;
}
const plant = read(readPlant(demo('plant.yaml'), 'plant.yaml'));
const recipe = read(readRecipe(demo('recipes/top-coat-1.yaml'), 'top-coat-1.yaml'));
const oven = plant.stations.find(({ id }) => id === 'oven-1') ?? expect.fail('no oven');

/** Flash, bake, cool, as the demo's oven has them. */
const airC: Record<string, number> = {
  'o1-z0': 27,
  'o1-z1': 59.1,
  'o1-z2': 59.7,
  'o1-z3': 59.4,
  'o1-z4': 31,
};
/** What the plan's figures, of another conduction model, may differ by. */
const AS_PLANNED = 0.05;

const stop = { fromMs: 60 * minute, toMs: 72 * minute };
const speed = (ms: number, stops: boolean) =>
  stops && ms >= stop.fromMs && ms < stop.toMs ? 0 : 0.275;

function lengthOnBelt(startMs: number, stops: boolean): number {
  let ms = startMs;
  for (let m = 0; m < 18; ms += 1000) m += speed(ms, stops) / 60;
  return ms - startMs;
}

/** A top that comes on at such a minute, as the demo's oven and recipe judge it: lip and centre. */
function topOn(startMin: number, stops: boolean) {
  const startMs = startMin * minute;
  const endMs = startMs + lengthOnBelt(startMs, stops);
  const sensors = Object.keys(airC).map((point) => {
    const sensor = plant.sensors.get(point);
    if (sensor === undefined || !measuresTemperature(sensor)) throw new Error(`no ${point}`);
    return [point, scoredSensor(sensor, 20_514, oven.supplyMaxC)] as const;
  });
  const input: ScoreInput = pressLoad(0, {
    station: scoredStation(oven),
    zones: scoredZones(oven.zones, oven, plant.sensors, recipe),
    signals: scoredSignals(oven, plant.sensors, { ...recipe, requirements: [] }),
    ...{ startMs, endMs, asOfMs: endMs, plannedEndMs: null },
    marks: {
      contact: null,
      pressureOn: exactly(startMs),
      releaseStart: exactly(endMs),
      open: null,
    },
    recipe: { ...recipe, requirements: [] },
    sensors: Object.fromEntries(sensors),
  });
  const readings: RawReading[] = [];
  for (let tMs = startMs - 10_000; tMs <= endMs + 10_000; tMs += 5000) {
    for (const [point, value] of Object.entries(airC)) readings.push({ point, tMs, value });
    readings.push({ point: 'o1-speed', tMs, value: speed(tMs, stops) });
  }
  readings.sort((a, b) => (a.point < b.point ? -1 : a.point > b.point ? 1 : a.tMs - b.tMs));
  const result = scoreReadings({ ...input, weights: planWeights(input) }, readings);
  const [lip, centre] = result.places;
  if (lip === undefined || centre === undefined) throw new Error('no places');
  return { ...result, lip, centre };
}

describe('the demo’s belt stands for 12 min', () => {
  it('those inside gain 9 to 14 min: their lips may have had too much, their centres not', () => {
    const [usual, inside] = [topOn(30, false), topOn(30, true)];
    for (const place of ['lip', 'centre'] as const) {
      const gained = inside[place].nominal - usual[place].nominal;
      expect(gained, place).toBeGreaterThan(9);
      expect(gained, place).toBeLessThan(14);
    }
    expect(Math.abs(usual.lip.nominal / 35.7 - 1)).toBeLessThan(AS_PLANNED);
    expect(Math.abs(inside.lip.nominal / 49.6 - 1)).toBeLessThan(AS_PLANNED);
    expect(Math.abs(inside.lip.high / 56.9 - 1)).toBeLessThan(AS_PLANNED);
    expect(inside.lip).toMatchObject({ verdict: 'unproven', side: 'long' });
    expect(inside.centre.verdict).toBe('in-window');
    expect(inside).toMatchObject({ verdict: 'unproven', side: 'long' });
  });

  it.each([
    ['off the belt before', -12],
    ['onto it after', 75],
  ])('a top that came %s has what it always has', (_when, startMin) => {
    const usual = topOn(startMin, false);
    const other = topOn(startMin, true);
    expect(other.verdict).toBe('in-window');
    for (const place of ['lip', 'centre'] as const)
      for (const end of ['low', 'nominal', 'high'] as const)
        expect(other[place][end], `${place} ${end}`).toBeCloseTo(usual[place][end], 9);
  });
});
