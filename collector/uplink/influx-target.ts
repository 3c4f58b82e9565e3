import { promisify } from 'node:util';
import { gzip } from 'node:zlib';
import type { InfluxAddress } from '@setwell/shared-models/plant/plant-schema';
import {
  addressOn,
  authorizationOf,
  beginningOf,
  refusalOf,
  wordsOf,
  type ReadSecret,
} from './influx-address.ts';

const compress = promisify(gzip);

export type Answer =
  | { kind: 'taken' }
  /** Sending the same again will be refused again. `whole`: not one of the lines was taken. */
  | { kind: 'refused'; says: string; whole: boolean }
  /** Nothing is wrong with the lines: later they will be taken. */
  | { kind: 'away'; says: string; retryAfterS: number | null };

/** A server's sentence and the line that it complains of fit; a page of HTML does not. */
const mostSaid = 1000;

/** Of the lines: malformed, too many bytes, or of a time or type that the server will never take. */
const refusing = new Set([400, 413, 422]);

/**
 * Where lines are written, whichever version of InfluxDB answers there. It neither waits nor tries
 * again: the cursor does.
 *
 * @source InfluxDB 1.8 API reference, /write; InfluxDB v2 API, POST /api/v2/write; InfluxDB 3 Core
 *   "Use the v3 write_lp API to write data"
 */
export class InfluxTarget {
  /** Server and place on it, without secrets: a cursor belongs to one of them. */
  readonly name: string;
  readonly #influx: InfluxAddress;
  readonly #address: string;
  readonly #readSecret: ReadSecret;

  constructor(influx: InfluxAddress, readSecret: ReadSecret) {
    this.#influx = influx;
    this.#readSecret = readSecret;
    const { path, query } = writeAddress(influx);
    this.#address = addressOn(influx, path, query);
    this.name = this.#address;
  }

  async write(lines: readonly string[], signal: AbortSignal): Promise<Answer> {
    try {
      const response = await fetch(this.#address, {
        method: 'POST',
        headers: {
          'content-type': 'text/plain; charset=utf-8',
          'content-encoding': 'gzip',
          ...authorizationOf(this.#influx, this.#readSecret),
        },
        body: await compress(lines.join('\n')),
        // A secret goes nowhere but to the address in the plant's file.
        redirect: 'manual',
        signal,
      });
      return await this.#answerOf(response, lines.length);
    } catch (error) {
      return { kind: 'away', says: wordsOf(error), retryAfterS: null };
    }
  }

  async #answerOf(response: Response, count: number): Promise<Answer> {
    const { ok, status, headers } = response;
    const body = await beginningOf(response, 4 * mostSaid);
    if (ok) return { kind: 'taken' };
    const says = refusalOf(response, body, mostSaid);
    // 1.x counts what it dropped and has taken the rest.
    const dropped = Number(/ dropped=(\d+)/.exec(body)?.[1]);
    if (refusing.has(status)) return { kind: 'refused', says, whole: dropped === count };
    const retryAfterS = Number(headers.get('retry-after') ?? Number.NaN);
    return { kind: 'away', says, retryAfterS: retryAfterS >= 0 ? retryAfterS : null };
  }
}

function writeAddress(influx: InfluxAddress): { path: string; query: Record<string, string> } {
  switch (influx.version) {
    case 1: {
      const { database, retentionPolicy } = influx;
      const policy = retentionPolicy === undefined ? {} : { rp: retentionPolicy };
      return { path: '/write', query: { db: database, ...policy, precision: 'ms' } };
    }
    case 2: {
      const { org, bucket } = influx;
      return { path: '/api/v2/write', query: { org, bucket, precision: 'ms' } };
    }
    case 3:
      return {
        path: '/api/v3/write_lp',
        query: { db: influx.database, precision: 'millisecond', accept_partial: 'true' },
      };
  }
}
