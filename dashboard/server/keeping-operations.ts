import { pipeline } from 'node:stream/promises';
import { periodName } from '@setwell/shared-models/record/period';
import type { RequestHandler } from 'express';
import { z } from 'zod';
import { actId, by } from './act-operations.ts';
import { CollectorError } from './collector-client.ts';
import { operation, type Operation } from './operation.ts';
import { Problem } from './problem.ts';
import type { Sources } from './reading-operations.ts';

const timeMs = z.coerce.number().int().min(0).max(8.64e15);
const reason = z.string().trim().min(1, 'a reason').max(1000);

/** How long records are kept, what holds them, and how they leave the house as a whole. */
export function keepingOperations({ client }: Sources, guards: RequestHandler[]): Operation[] {
  const hold = (kind: 'legal-hold-set' | 'legal-hold-lifted', path: string, summary: string) =>
    operation({
      ...({ method: 'post', path, summary, guards, answer: 'number of the entry' } as const),
      body: z.strictObject({ id: actId, by, reason }),
      handle: ({ params, body }) => {
        const about = { lots: [params['id'] ?? ''] };
        return client.act({ id: body.id, kind, by: body.by, about, body: { reason: body.reason } });
      },
    });
  return [
    operation({
      method: 'get',
      path: '/checkpoint',
      summary: 'The newest signed checkpoint and the key that belongs to it',
      answer: 'NewestCheckpoint',
      handle: () => client.ask('/checkpoint'),
    }),
    operation({
      method: 'get',
      path: '/lots/{id}/retention',
      summary: 'Until when the lot’s documents are kept, and what holds them',
      answer: 'LotRetention',
      handle: ({ params }) =>
        client.ask(`/records/${encodeURIComponent(params['id'] ?? '')}/retention`),
    }),
    hold('legal-hold-set', '/lots/{id}/legal-hold', 'Nothing of the lot is deleted from now on'),
    hold('legal-hold-lifted', '/lots/{id}/legal-hold/lift', 'The lot is kept by its age again'),
    operation({
      method: 'get',
      path: '/records/period',
      summary: 'Everything of a period as one bundle, as it is made',
      query: z.strictObject({ from: timeMs, to: timeMs }),
      answer: 'the file',
      type: 'application/zip',
      handle: async ({ query, by: who }, response) => {
        const { from: fromMs, to: toMs } = query;
        const wanted = { fromMs, toMs, by: who === '' ? 'plant' : who };
        const file = await client.stream('/records/period', wanted).catch((error: unknown) => {
          if (!(error instanceof CollectorError) || error.status !== 404) throw error;
          throw new Problem(404, 'nothing-recorded', 'Nothing was recorded in this period.');
        });
        response.setHeader('content-disposition', `attachment; filename="${periodName(wanted)}"`);
        response.type('application/zip');
        await pipeline(file, response);
      },
    }),
  ];
}
