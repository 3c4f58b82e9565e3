import { z } from 'zod';
import { phaseKeys, rateKeys } from '@setwell/shared-models/condition/proposal';
import { featureNames } from '@setwell/shared-models/condition/feature';
import { workKinds } from '@setwell/shared-models/record/bodies';
import type { RequestHandler } from 'express';
import { actId, by, name } from './act-operations.ts';
import { operation, type Operation } from './operation.ts';
import type { Sources } from './reading-operations.ts';

const job = {
  id: actId,
  by,
  work: name,
  points: z.array(name).max(200).default([]),
  what: z.enum(workKinds),
  note: z.string().trim().max(1000).default(''),
};

/** How stations heat up, and the work done on them. */
export function heatUpOperations({ client }: Sources, guards: RequestHandler[]): Operation[] {
  // Longer than the limit because it is a table: one question or act after the other, each whole.
  return [
    operation({
      method: 'get',
      path: '/heat-ups',
      summary: 'Each station: when it was or will be ready, and the worst of its zones',
      answer: 'stations',
      handle: async () => ({ stations: await client.ask('/heat-ups') }),
    }),
    operation({
      method: 'get',
      path: '/heat-ups/{station}',
      summary: 'Zones as they lie, each against its own past; what goes next; work',
      answer: 'the report of one station',
      handle: ({ params }) =>
        client.ask(`/heat-ups/${encodeURIComponent(params['station'] ?? '')}`),
    }),
    operation({
      method: 'get',
      path: '/heat-ups/{station}/{point}',
      summary: 'One zone: today over its own past, and one dot a heat-up',
      query: z.strictObject({ feature: z.enum(featureNames).default('minutes-to-ready') }),
      answer: 'curve, usual range, dots, marks of work',
      handle: ({ params, query }) => {
        const [station, point] = [params['station'] ?? '', params['point'] ?? ''];
        const path = `/heat-ups/${encodeURIComponent(station)}/${encodeURIComponent(point)}`;
        return client.ask(`${path}?feature=${query.feature}`);
      },
    }),
    operation({
      method: 'post',
      path: '/stations/{station}/work',
      summary: 'Work is planned for the next stop',
      guards,
      body: z.strictObject({ ...job, because: z.string().trim().max(1000).default('') }),
      answer: 'number of the entry',
      handle: ({ params, body: { id, by: who, ...body } }) => {
        const station = params['station'] ?? '';
        const about = { station, work: body.work };
        return client.act({ id, kind: 'work-planned', by: who, about, body: { ...body, station } });
      },
    }),
    operation({
      method: 'post',
      path: '/stations/{station}/work/done',
      summary: 'Work was done: the baseline of its zones begins anew',
      guards,
      body: z.strictObject({ ...job, doneMs: z.number().int().nonnegative() }),
      answer: 'number of the entry',
      handle: ({ params, body: { id, by: who, ...body } }) => {
        const station = params['station'] ?? '';
        const about = { station, work: body.work };
        return client.act({ id, kind: 'work-done', by: who, about, body: { ...body, station } });
      },
    }),
    operation({
      method: 'post',
      path: '/stations/{station}/limits',
      summary: 'A limit is taken over as the station’s own cycles propose it',
      guards,
      body: z.strictObject({
        id: actId,
        by,
        key: z.enum([...rateKeys, ...phaseKeys]),
        value: z.number(),
        cycles: z.number().int().positive(),
        seen: z.number(),
      }),
      answer: 'number of the entry',
      handle: ({ params, body: { id, by: who, ...body }, signed }) => {
        const station = params['station'] ?? '';
        const about = { station };
        return client.act({
          id,
          ...signed,
          kind: 'limit-approved',
          by: who,
          about,
          body: { ...body, station },
        });
      },
    }),
    operation({
      method: 'post',
      path: '/stations/{station}/work/{work}/close',
      summary: 'A job is closed, by evidence or with a reason',
      guards,
      body: z.strictObject({
        id: actId,
        by,
        evidence: z.enum(['proven', 'not-proven']),
        note: z.string().trim().max(1000).default(''),
      }),
      answer: 'number of the entry',
      handle: ({ params, body: { id, by: who, evidence, note } }) => {
        const { station = '', work = '' } = params;
        const body = { work, evidence, note };
        return client.act({ id, kind: 'work-closed', by: who, about: { station, work }, body });
      },
    }),
  ];
}
