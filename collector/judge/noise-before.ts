import { dayOfMs } from '@setwell/shared-models/metrology/calendar-day';
import { noiseOfReadings } from '@setwell/shared-models/metrology/stream-noise';
import { measuresTemperature, type Plant } from '@setwell/shared-models/plant/plant';
import type { LoadOpened } from '@setwell/shared-models/record/bodies';
import { PointHistory } from '@setwell/shared-models/score/point-history';
import { scoredSensor } from '@setwell/shared-models/score/scored-sensor';
import type { JournalReader } from '../journal/shape.ts';
import { isScored } from './load-readings.ts';
import { neededPoints } from './score-input.ts';

/** How far back noise is looked for: so many readings' time, and never less or more than this [ms]. */
const readingsBack = 120;
const leastBackMs = 10 * 60_000;
const mostBackMs = 12 * 3_600_000;

/** Digits that noise is kept with [1/K]: more would say more than a few readings can. */
const perK = 1000;

/**
 * Noise of a load's points, from what they read before it began; points whose noise the plant's file
 * says, and points too new to tell, are left out.
 *
 * Asked once, when the load opens, and kept with it: later and late readings change nothing of it.
 */
export function noiseBefore(
  plant: Plant,
  opened: LoadOpened,
  journal: JournalReader,
): Record<string, number> {
  const toMs = opened.marks.pressureOn.earliestMs - 1;
  const found: Record<string, number> = {};
  for (const point of neededPoints(plant, opened)) {
    const sensor = plant.sensors.get(point);
    if (!sensor || !measuresTemperature(sensor) || sensor.noiseK !== undefined) continue;
    const wantedMs = readingsBack * (sensor.everyS ?? 1) * 1000;
    const fromMs = toMs - Math.min(mostBackMs, Math.max(leastBackMs, wantedMs));
    const history = new PointHistory(scoredSensor(sensor, dayOfMs(toMs), 0));
    for (const reading of journal.readings(point, fromMs, toMs).readings) {
      if (isScored(reading)) history.take(reading.t, reading.v);
    }
    const noiseK = noiseOfReadings(history.timesMs, history.valuesC);
    if (noiseK !== null) found[point] = Math.ceil(noiseK * perK) / perK;
  }
  return found;
}
