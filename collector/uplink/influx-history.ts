import type { InfluxAddress } from '@setwell/shared-models/plant/plant-schema';
import { z } from 'zod';
import type { Minute } from '../journal/shape.ts';
import {
  addressOn,
  authorizationOf,
  beginningOf,
  refusalOf,
  wordsOf,
  type ReadSecret,
} from './influx-address.ts';
import { measurement } from './influx-line.ts';

/** Whoever looks at a chart does not wait longer; minutes are drawn then [ms of wall time]. */
const answerWithinMs = 5000;
/** Charts asked for at once beyond it are drawn from minutes: a slow server must hold up nothing here. */
const mostAtOnce = 4;
/** 2,000 steps of a hundred characters, many times over. */
const mostCharacters = 2 * 1024 * 1024;
const mostSaid = 200;

/** A step as long as any other: least, greatest, mean and number of its readings. */
export type HistoryStep = Minute;

export type HistoryAnswer =
  | { kind: 'steps'; steps: HistoryStep[] }
  /** In plain words, without secrets. */
  | { kind: 'away'; because: string };

const answerSchema = z.object({
  error: z.string().optional(),
  results: z
    .array(
      z.object({
        error: z.string().optional(),
        series: z
          .array(
            z.object({
              values: z.array(
                z.tuple([z.number(), z.number(), z.number(), z.number(), z.number()]),
              ),
            }),
          )
          .optional(),
      }),
    )
    .optional(),
});

/**
 * Readings that the journal has let go, read back from where they are kept for the long run.
 *
 * All versions answer InfluxQL at `/query`; a bucket of 2.x is asked by its name as a database.
 *
 * @source InfluxDB 1.8 API reference, /query, and "Explore data using InfluxQL", GROUP BY time(); InfluxDB v2
 *   1.x compatibility API, GET /query; InfluxDB 3 Core "Query with the v1 HTTP API"
 */
export class InfluxHistory {
  readonly #influx: InfluxAddress;
  readonly #site: string;
  readonly #readSecret: ReadSecret;
  #running = 0;

  constructor(influx: InfluxAddress, site: string, readSecret: ReadSecret) {
    this.#influx = influx;
    this.#site = site;
    this.#readSecret = readSecret;
  }

  /** Steps of a point from `fromMs` on to before `toMs`, those with readings alone. Never throws. */
  async steps(point: string, fromMs: number, toMs: number, stepMs: number): Promise<HistoryAnswer> {
    if (this.#running >= mostAtOnce) return away(`${mostAtOnce} other charts are waiting for it`);
    this.#running += 1;
    try {
      return await this.#ask(queryOf({ point, site: this.#site }, fromMs, toMs, stepMs));
    } catch (error) {
      return away(wordsOf(error));
    } finally {
      this.#running -= 1;
    }
  }

  async #ask(q: string): Promise<HistoryAnswer> {
    const address = addressOn(this.#influx, '/query', { ...placeOf(this.#influx), epoch: 'ms', q });
    const response = await fetch(address, {
      headers: { accept: 'application/json', ...authorizationOf(this.#influx, this.#readSecret) },
      // A secret goes nowhere but to the address in the plant's file.
      redirect: 'manual',
      signal: AbortSignal.timeout(answerWithinMs),
    });
    const text = await beginningOf(response, mostCharacters);
    if (!response.ok) return away(refusalOf(response, text, mostSaid));
    const read = answerSchema.safeParse(parsed(text));
    if (!read.success) return away('its answer is none of the kind that was asked for');
    const { error, results = [] } = read.data;
    const refused = error ?? results.find((result) => result.error !== undefined)?.error;
    if (refused !== undefined) return away(refused);
    const rows = results.flatMap(({ series = [] }) => series.flatMap(({ values }) => values));
    const steps = rows.map(([t, min, max, mean, count]) => ({ t, min, max, mean, count }));
    return { kind: 'steps', steps };
  }
}

function away(says: string): HistoryAnswer {
  return { kind: 'away', because: says.slice(0, mostSaid) };
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}

function placeOf(influx: InfluxAddress): Record<string, string> {
  if (influx.version === 2) return { db: influx.bucket };
  if (influx.version === 3) return { db: influx.database };
  const { database, retentionPolicy } = influx;
  return { db: database, ...(retentionPolicy === undefined ? {} : { rp: retentionPolicy }) };
}

/** Steps begin at `fromMs`, wherever the server's own would; what minutes do not count is left out. */
function queryOf(
  tags: { point: string; site: string },
  fromMs: number,
  toMs: number,
  stepMs: number,
): string {
  const named = Object.entries(tags).map(([tag, value]) => `"${tag}" = ${quoted(value)}`);
  const where = [
    ...named,
    `"ahead" = false`,
    `("quality" = 'good' OR "quality" = 'late')`,
    `time >= ${fromMs}ms`,
    `time < ${toMs}ms`,
  ];
  return (
    `SELECT min("value"), max("value"), mean("value"), count("value") FROM "${measurement}" ` +
    `WHERE ${where.join(' AND ')} GROUP BY time(${stepMs}ms, ${fromMs % stepMs}ms) fill(none)`
  );
}

function quoted(text: string): string {
  return `'${text.replace(/[\\']/g, '\\$&')}'`;
}
