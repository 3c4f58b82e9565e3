import { z } from 'zod';
import type { Collected, Part } from '../part.ts';
import { Refused, unknown } from '../serve/refused.ts';
import type { Route } from '../serve/route.ts';
import { SinceRefused } from './lot-bundle.ts';
import { exportKinds, exportLot, type LotExport } from './lot-export.ts';

/** A signed note is three short lines and a signature. */
const mostNoteLength = 4096;

const wantedSchema = z.strictObject({
  as: z.enum(exportKinds),
  by: z.string().min(1).max(120),
  language: z.enum(['en', 'de']).default('en'),
  since: z.string().max(mostNoteLength).nullable().default(null),
});

/** `POST /records/{lot}/export`: a lot's file goes out, and the ledger says so. */
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
    ];
  }

  async #export(lot: string, body: unknown): Promise<LotExport> {
    const wanted = wantedSchema.safeParse(body);
    if (!wanted.success) {
      const [issue] = wanted.error.issues;
      const field = issue?.path.join('.') ?? '';
      throw new Refused(422, 'bad-input', field, 'something else', issue?.message ?? 'an export');
    }
    const { ledger, lots, plant, append, clock } = this.#collected;
    const source = { ledger, lots, site: plant.site, append, nowMs: () => clock.nowMs() };
    try {
      const file = await exportLot(source, { lot, ...wanted.data });
      if (!file) throw unknown('lot', lot, 'a lot with at least one entry');
      return file;
    } catch (error) {
      if (!(error instanceof SinceRefused)) throw error;
      throw new Refused(422, 'bad-input', 'since', error.found, error.expected);
    }
  }
}
