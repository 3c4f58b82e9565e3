import type Database from 'better-sqlite3';
import { flagsOf } from './batch-body.ts';
import type { FreshReading } from './fresh-readings.ts';

/** A third of what a row costs is the call; longer statements save no more. */
const rowsAtOnce = 20;

const columns = ['point', 't', 'v', 'flags', 'seq', 'deviceSeq'];

type Values = (number | null)[];

/** Writes readings of which the index does not know yet, many a statement. */
export class RowWriter {
  readonly #many: Database.Statement<[Values]>;
  readonly #one: Database.Statement<[Values]>;

  constructor(db: Database.Database) {
    this.#many = db.prepare<[Values]>(insertOf(rowsAtOnce));
    this.#one = db.prepare<[Values]>(insertOf(1));
  }

  /** @param points each by its number in the index, in the order of the file */
  write(points: Iterable<readonly [{ id: number }, readonly FreshReading[]]>): void {
    const most = rowsAtOnce * columns.length;
    let values: Values = [];
    for (const [{ id }, readings] of points) {
      for (const { reading, seq } of readings) {
        const { t, v, deviceSeq } = reading;
        values.push(id, t, v, flagsOf(reading), seq, deviceSeq);
        if (values.length < most) continue;
        this.#many.run(values);
        values = [];
      }
    }
    for (let at = 0; at < values.length; at += columns.length) {
      this.#one.run(values.slice(at, at + columns.length));
    }
  }
}

function insertOf(rows: number): string {
  const row = `(${columns.map(() => '?').join(', ')})`;
  const values = Array.from({ length: rows }, () => row).join(', ');
  return `INSERT INTO reading (${columns.join(', ')}) VALUES ${values} ON CONFLICT DO NOTHING`;
}
