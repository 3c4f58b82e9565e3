import { readFileSync } from 'node:fs';
import { atClock } from '@setwell/deploy/demo/calendar';
import { Works } from '@setwell/deploy/demo/works';
import { FaultWatch, type FaultChange } from '@setwell/shared-models/metrology/fault/fault-watch';
import { shownBy, watchedPoint } from '@setwell/shared-models/metrology/fault/watched-point';
import type { Plant } from '@setwell/shared-models/plant/plant';
import { readPlant } from '@setwell/shared-models/plant/read-plant';

const plantFile = new URL('../../deploy/demo/plant.yaml', import.meta.url).pathname;
const lookEveryMs = 10_000;

/** A reading on its way, as a fault may change it. */
export interface OnTheWay {
  point: string;
  tMs: number;
  receivedMs: number;
  raw: number;
  conflict: boolean;
}

/** What becomes of a reading; null: it does not come. */
export type Fault = (reading: OnTheWay) => OnTheWay | null;

export interface Told {
  atMs: number;
  change: FaultChange;
}

export function demoPlant(): Plant {
  const read = readPlant(readFileSync(plantFile, 'utf8'), plantFile);
  if (!read.ok) throw new Error('the demo plant is not read');
  return read.value;
}

/**
 * The demo works over a time, looked at by all fault rules.
 *
 * @param fault put on from `faultMs` on
 */
export function watchWorks(
  plant: Plant,
  { seed, startMs, hours, pressEveryS = 1 }: WorksTime,
  fault: { fromMs: number; of: Fault } | null = null,
): { told: Told[]; readings: number } {
  const sensors = [...plant.sensors.values()];
  const watch = new FaultWatch(sensors.map(watchedPoint));
  const shown = new Map(sensors.map((sensor) => [sensor.id, shownBy(sensor)]));
  const works = Works.at(startMs, { seed, pressEveryS });
  const told: Told[] = [];
  let readings = 0;
  let nextLookMs = startMs;
  works.advance(startMs + hours * 3_600_000, (happening) => {
    const { t } = happening;
    if (happening.kind === 'event') {
      if (happening.event === 'load-start') watch.loaded(pointsOf(plant, happening.load), t);
      return;
    }
    const { point, v: raw } = happening;
    const sent = { point, tMs: t, receivedMs: t + 300, raw, conflict: false };
    const came = fault !== null && t >= fault.fromMs ? fault.of(sent) : sent;
    if (came !== null) {
      readings += 1;
      const shownC = shown.get(came.point)?.(came.raw) ?? null;
      watch.take(came.point, { ...came, shownC });
    }
    if (t < nextLookMs) return;
    nextLookMs = t + lookEveryMs;
    for (const change of watch.look(t)) told.push({ atMs: t, change });
  });
  return { told, readings };
}

export interface WorksTime {
  seed: number;
  startMs: number;
  hours: number;
  pressEveryS?: number;
}

/** A working day's morning: day 3 is a Monday, presses are heated from 04:00 on. */
export function morning(day: number, hour = 6): number {
  return atClock(day, hour);
}

function pointsOf(
  { stations }: Plant,
  load: { station: string; opening?: string | null; zones?: readonly string[] | null },
): string[] {
  const station = stations.find(({ id }) => id === load.station);
  return (station?.zones ?? [])
    .filter(({ opening }) => opening === null || !load.opening || opening === load.opening)
    .flatMap(({ upper, lower, air }) => [upper, lower, air])
    .filter((point) => point !== null);
}
