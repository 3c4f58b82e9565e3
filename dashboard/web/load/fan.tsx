import type { FloorLoad } from '@setwell/shared-models/api/floor';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import { xOf, type Plot } from './plot.ts';

/**
 * Beyond the last reading nothing is measured: what is still possible opens as a hatched fan, from the
 * first silence to the end of the picture.
 */
export function Fan({
  plot,
  load,
  trace,
  low,
  high,
  yOf,
}: {
  plot: Plot;
  load: FloorLoad;
  trace: LoadTrace;
  low: number[];
  high: number[];
  yOf: (value: number) => number;
}) {
  const since = load.blindSinceMs;
  if (since === null) return null;
  const times = trace.timesMs.map((ms, i) => ({ ms, i })).filter(({ ms }) => ms >= since);
  if (times.length < 2) return null;
  const edge = (values: number[]): string[] =>
    times.map(({ ms, i }) => `${xOf(plot, ms).toFixed(1)} ${yOf(values[i] ?? 0).toFixed(1)}`);
  const points = [...edge(high), ...edge(low).reverse()].join('L');
  return <path class="fan" d={`M${points}Z`} />;
}
