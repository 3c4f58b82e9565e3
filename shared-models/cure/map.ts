import type { Law } from './law.ts';

/** Minutes at a held temperature that yield one measure, against temperature. */
export interface MapCurve {
  /** In the law's unit. */
  value: number;
  /** One a temperature [min]; null where the law never gets there. */
  minutes: (number | null)[];
}

/**
 * Time-temperature map of a law: held temperatures against minutes, with curves of equal measure and
 * the window between its least and its most.
 */
export interface TimeTemperatureMap {
  unit: Law['unit'];
  tempsC: number[];
  curves: MapCurve[];
  /** The shaded part; `most` null where the recipe has none. */
  window: { least: MapCurve; most: MapCurve | null } | null;
}

/**
 * @param range from, to [°C] and how many temperatures between, ends included (2…1,000)
 * @param values measures of the curves, in the law's unit
 */
export function timeTemperatureMap(
  law: Law,
  range: { fromC: number; toC: number; count: number },
  values: readonly number[],
  window: { least: number; most: number | null } | null = null,
): TimeTemperatureMap {
  const tempsC = Array.from(
    { length: range.count },
    (_, i) => range.fromC + ((range.toC - range.fromC) * i) / (range.count - 1),
  );
  const curve = (value: number): MapCurve => ({
    value,
    minutes: tempsC.map((tempC) => {
      const minutes = law.secondsToReach(law.initial, value, tempC) / 60;
      return Number.isFinite(minutes) ? minutes : null;
    }),
  });
  return {
    unit: law.unit,
    tempsC,
    curves: values.map(curve),
    window:
      window === null
        ? null
        : { least: curve(window.least), most: window.most === null ? null : curve(window.most) },
  };
}
