import { measuresTemperature } from '../../plant/plant.ts';
import type { Sensor } from '../../plant/plant-schema.ts';
import { celsiusOfSignal, temperatureSignalOf } from '../signal.ts';
import type { TemperatureSignal } from '../signal.ts';
import type { WatchedPoint } from './rule.ts';

/** What a point that does not say it is taken for. Common practice, no source. */
const USUAL_EVERY_S = 60;
const USUAL_RESOLUTION_K = 0.1;

/** A point as the rules know it before its first reading. */
export function watchedPoint(sensor: Sensor): WatchedPoint {
  const { id, station, signal, role, everyS, report, resolutionK = USUAL_RESOLUTION_K } = sensor;
  return {
    id,
    station,
    signal,
    role,
    everyMs: (report?.heartbeatS ?? everyS ?? USUAL_EVERY_S) * 1000,
    onChange: report !== undefined,
    resolutionK,
    plausible: measuresTemperature(sensor) ? sensor.plausible : null,
  };
}

/** What a raw value of a point shows [°C]; null where it is no temperature, or the point measures none. */
export function shownBy(sensor: Sensor): (raw: number) => number | null {
  const from: TemperatureSignal | null = measuresTemperature(sensor)
    ? temperatureSignalOf(sensor)
    : null;
  return (raw) => (from === null ? null : celsiusOfSignal(raw, from));
}
