import type { RawReading } from './readings.ts';
import type { FittedSensor, ScoredSensor, Seam, SeamSide } from './shape.ts';

/** What was fitted at a point over a part of the load; null: nothing. */
export interface FittedSpan {
  /** Inclusive [ms]. */
  fromMs: number;
  /** Exclusive [ms]. */
  toMs: number;
  sensor: FittedSensor | null;
}

/** All that was fitted at a point, in time: the sensor itself first, then each change. */
export function spansOf(sensor: ScoredSensor): FittedSpan[] {
  const changes = sensor.changes ?? [];
  const starts = [{ fromMs: -Infinity, sensor: sensor as FittedSensor | null }, ...changes];
  return starts.map((each, index) => ({
    fromMs: each.fromMs,
    toMs: starts[index + 1]?.fromMs ?? Infinity,
    sensor: each.sensor,
  }));
}

/** Points whose readings a point's history is made of: its own, and those that stood in for it. */
export function sourcesOf(point: string, sensor: ScoredSensor): string[] {
  const others = (sensor.changes ?? []).map((change) => change.sensor?.readsFrom);
  return [...new Set([sensor.readsFrom ?? point, ...others.map((other) => other ?? point)])];
}

/** Whether a reading of `source` is one of the point's at that time. */
export function isOf(point: string, sensor: ScoredSensor, source: string, tMs: number): boolean {
  if (sensor.changes === undefined) return (sensor.readsFrom ?? point) === source;
  const span = spansOf(sensor).find(({ toMs }) => tMs < toMs);
  return (span?.sensor?.readsFrom ?? point) === source;
}

/** A point's own readings, and those of points that stood in for it, each in its time; sorted by time. */
export function readingsFor(
  point: string,
  sensor: ScoredSensor,
  byPoint: ReadonlyMap<string, readonly RawReading[]>,
): readonly RawReading[] {
  const [source, ...others] = sourcesOf(point, sensor);
  if (others.length === 0) return byPoint.get(source) ?? [];
  return spansOf(sensor).flatMap(({ fromMs, toMs, sensor: fitted }) =>
    (byPoint.get(fitted?.readsFrom ?? point) ?? []).filter(
      ({ tMs }) => tMs >= fromMs && tMs < toMs,
    ),
  );
}

/** Where what is fitted changes within a time. */
export function seamsOf(point: string, sensor: ScoredSensor, fromMs: number, toMs: number): Seam[] {
  const spans = spansOf(sensor);
  return spans.slice(1).flatMap((span, index) => {
    if (span.fromMs < fromMs || span.fromMs > toMs) return [];
    const [before, after] = [sideOf(spans[index].sensor), sideOf(span.sensor)];
    return [{ point, atMs: span.fromMs, before, after }];
  });
}

function sideOf(sensor: FittedSensor | null): SeamSide | null {
  if (sensor === null) return null;
  return { instrument: sensor.instrument ?? null, certificate: sensor.certificate ?? null };
}

/**
 * The widest of all that was fitted at a point: its doubt, its noise and what it could have shown. What
 * bounds a whole load must bound each of its parts.
 */
export function widestOf(sensor: ScoredSensor): FittedSensor {
  if (sensor.changes === undefined) return sensor;
  const fitted = spansOf(sensor).flatMap((span) => (span.sensor === null ? [] : [span.sensor]));
  const most = (of: (each: FittedSensor) => number) =>
    fitted.reduce((greatest, each) => Math.max(greatest, of(each)), of(sensor));
  return {
    ...sensor,
    expandedK: most(({ expandedK }) => expandedK),
    resolutionK: most(({ resolutionK }) => resolutionK),
    noiseK: most(({ noiseK }) => noiseK ?? 0),
    plausible: {
      minC: -most(({ plausible }) => -plausible.minC),
      maxC: most(({ plausible }) => plausible.maxC),
      maxRateKPerMin: most(({ plausible }) => plausible.maxRateKPerMin),
    },
  };
}
