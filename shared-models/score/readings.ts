/** A raw value of a point, in its own signal. */
export interface RawReading {
  point: string;
  tMs: number;
  value: number;
}

const HEADING = 'point,t_ms,value';

/**
 * The one text a set of readings has: sorted by point and time, LF, shortest round-trip decimals.
 * Order and repetition of the list change nothing.
 */
export function canonicalReadings(readings: readonly RawReading[]): string {
  const lines = readings.map(
    ({ point, tMs, value }) => `${point},${tMs},${value === 0 ? 0 : value}`,
  );
  const order = new Map(lines.map((line, index) => [line, readings[index]]));
  const unique = [...order].sort(([, a], [, b]) => byPointAndTime(a, b));
  return `${HEADING}\n${unique.map(([line]) => `${line}\n`).join('')}`;
}

/**
 * Reads the canonical text back.
 *
 * @throws RangeError for anything else: the caller made the text itself
 */
export function parseReadings(csv: string): RawReading[] {
  const lines = csv.split('\n');
  if (lines[0] !== HEADING || lines[lines.length - 1] !== '') {
    throw new RangeError(`readings: expected "${HEADING}" and a line feed at the end`);
  }
  return lines.slice(1, -1).map((line, index) => {
    const [point, t, v, ...rest] = line.split(',');
    const tMs = Number(t);
    const value = Number(v);
    if (!point || rest.length > 0 || !Number.isFinite(tMs) || !Number.isFinite(value)) {
      throw new RangeError(`readings, line ${index + 2}: found "${line}", expected ${HEADING}`);
    }
    return { point, tMs, value };
  });
}

/** The same readings by their point, each list in the order given. */
export function byPointOf(readings: readonly RawReading[]): Map<string, RawReading[]> {
  const byPoint = new Map<string, RawReading[]>();
  for (const reading of readings) {
    const own = byPoint.get(reading.point);
    if (own === undefined) byPoint.set(reading.point, [reading]);
    else own.push(reading);
  }
  return byPoint;
}

function byPointAndTime(a: RawReading, b: RawReading): number {
  if (a.point !== b.point) return a.point < b.point ? -1 : 1;
  return a.tMs - b.tMs || a.value - b.value;
}
