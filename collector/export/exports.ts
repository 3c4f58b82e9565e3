import { z } from 'zod';
import type { Collected, Part } from '../part.ts';
import { Refused, unknown } from '../serve/refused.ts';
import type { Route } from '../serve/route.ts';
import { ModelPool } from '../verify/model-pool.ts';
import { SinceRefused } from './lot-bundle.ts';
import { exportKinds, exportLot, type ExportSource, type LotExport } from './lot-export.ts';
import { printLanguages } from './print-words.ts';
import { exportPeriod } from './period-bundle.ts';

/** A signed note is three short lines and a signature. */
const mostNoteLength = 4096;

const wantedSchema = z.strictObject({
  as: z.enum(exportKinds),
  by: z.string().min(1).max(120),
  language: z.enum(printLanguages).default('en'),
  since: z.string().max(mostNoteLength).nullable().default(null),
});

const timeMs = z.number().int().min(0).max(8.64e15);

const periodSchema = z.strictObject({
  fromMs: timeMs,
  toMs: timeMs,
  by: wantedSchema.shape.by,
  since: wantedSchema.shape.since,
});

/**
 * `POST /records/{lot}/export`: a lot's file goes out, and the ledger says so; `POST /records/period`: the
 * bundles of all lots of a period.
 */
export class Exports implements Part {
  readonly #collected: Collected;

  constructor(collected: Collected) {
    this.#collected = collected;
  }

  routes(): Route[] {
    return [
      {
        method: 'POST',
        path: '/records/{lot}/export',
        answer: async (asked, body) => {
          const { type, pieces } = await this.#export(asked.name('lot'), body);
          return { status: 200, type, body: Buffer.concat([...pieces]) };
        },
      },
      {
        method: 'POST',
        path: '/records/period',
        answer: async (_asked, body) => ({
          status: 200,
          type: 'application/zip',
          body: await this.#exportPeriod(body),
        }),
      },
    ];
  }

  async #export(lot: string, body: unknown): Promise<LotExport> {
    const wanted = read(wantedSchema, body);
    const pool = new ModelPool();
    try {
      const file = await told(exportLot(this.#source(pool), { lot, ...wanted }));
      if (!file) throw unknown('lot', lot, 'a lot with at least one entry');
      return file;
    } finally {
      await pool.end();
    }
  }

  async #exportPeriod(body: unknown): Promise<AsyncIterable<Buffer>> {
    const wanted = read(periodSchema, body);
    const pool = new ModelPool();
    const pieces = await told(exportPeriod(this.#source(pool), wanted));
    if (!pieces) throw unknown('toMs', String(wanted.toMs), 'a period with at least one entry');
    return untilEnd(pieces, pool);
  }

  #source(pool: ModelPool): ExportSource {
    const { ledger, lots, plant, append, clock } = this.#collected;
    return { ledger, lots, site: plant.site, append, nowMs: () => clock.nowMs(), pool };
  }
}

async function* untilEnd(pieces: AsyncIterable<Buffer>, pool: ModelPool): AsyncGenerator<Buffer> {
  try {
    yield* pieces;
  } finally {
    await pool.end();
  }
}

function read<T>(schema: z.ZodType<T>, body: unknown): T {
  const wanted = schema.safeParse(body);
  if (wanted.success) return wanted.data;
  const [issue] = wanted.error.issues;
  const field = issue?.path.join('.') ?? '';
  throw new Refused(422, 'bad-input', field, 'something else', issue?.message ?? 'an export');
}

async function told<T>(exported: Promise<T>): Promise<T> {
  try {
    return await exported;
  } catch (error) {
    if (!(error instanceof SinceRefused)) throw error;
    throw new Refused(422, 'bad-input', 'since', error.found, error.expected);
  }
}
