import { Point } from '@influxdata/influxdb-client';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Reading } from '../journal/shape.ts';

export const measurement = 'reading';

/**
 * A reading as one line of the line protocol, its time in milliseconds.
 *
 * Nothing in it depends on who sends it or when: the same measurement, tags and time overwrite, so
 * that sending again, or from two collectors, leaves one point.
 */
export function influxLine(reading: Reading, { site, sensors }: Plant): string {
  const { point, t, v, quality, stamped, ahead } = reading;
  const encoded = new Point(measurement)
    .tag('point', point)
    .tag('site', site.id)
    .floatField('value', v)
    .stringField('quality', quality)
    .booleanField('stamped', stamped)
    .booleanField('ahead', ahead)
    .timestamp(t);
  const station = sensors.get(point)?.station;
  if (station) encoded.tag('station', station);
  const line = encoded.toLineProtocol();
  if (line === undefined) throw new Error(`no line for a reading of ${point}`);
  return line;
}
