import { soak } from '@setwell/shared-models/api/survey';
import type { RequestHandler } from 'express';
import { z } from 'zod';
import { actId, by, name } from './act-operations.ts';
import { operation, type Operation } from './operation.ts';
import type { Sources } from './reading-operations.ts';

/** Names of as many points as a survey may have [characters]. */
const mostQuery = 4000;

/** Temperature surveys of platens and ovens. */
export function surveyOperations({ client }: Sources, guards: RequestHandler[]): Operation[] {
  // Longer than the limit because it is a table: one question or act after the other, each whole.
  const of = (params: Record<string, string>) => encodeURIComponent(params['station'] ?? '');
  return [
    operation({
      method: 'get',
      path: '/surveys/{station}',
      summary: 'Surveys of a station, newest first, each beside the last one of the same points',
      answer: 'points, surveys',
      handle: ({ params }) => client.ask(`/surveys/${of(params)}`),
    }),
    operation({
      method: 'get',
      path: '/surveys/{station}/soak',
      summary: 'How a survey that runs stands: figures of the samples so far',
      query: z.strictObject({
        fromMs: z.coerce.number().int(),
        points: z.string().max(mostQuery),
        setPointC: z.coerce.number(),
        toleranceK: z.coerce.number().positive(),
      }),
      answer: 'figures, samples, trouble',
      handle: ({ params, query }) => {
        const asked = new URLSearchParams();
        for (const [key, value] of Object.entries(query)) asked.set(key, String(value));
        return client.ask(`/surveys/${of(params)}/soak?${asked.toString()}`);
      },
    }),
    operation({
      method: 'get',
      path: '/surveys/{station}/plan',
      summary: 'A survey’s plan as a sheet to carry there: places numbered as they lie, what to do',
      query: z.strictObject({
        points: z.string().max(mostQuery),
        grid: z.string().max(12).optional(),
        setPointC: z.coerce.number(),
        toleranceK: z.coerce.number().positive(),
        soakMin: z.coerce.number().int(),
        from: z.enum(['live', 'file']).default('live'),
        language: z.enum(['en', 'de']).default('en'),
      }),
      answer: 'the sheet',
      type: 'application/pdf',
      handle: async ({ params, query, by: who }, response) => {
        const asked = new URLSearchParams({ by: who === '' ? 'plant' : who });
        for (const [key, value] of Object.entries(query)) asked.set(key, String(value));
        const { body, type } = await client.fetch(
          `/surveys/${of(params)}/plan?${asked.toString()}`,
        );
        response.setHeader('cache-control', 'no-store');
        const name = fileName(params['station'] ?? '');
        response.setHeader('content-disposition', `attachment; filename="${name}-plan.pdf"`);
        response.type(type).send(body);
      },
    }),
    operation({
      method: 'get',
      path: '/surveys/{station}/{survey}/sheet',
      summary: 'A survey as a sheet that can be signed',
      query: z.strictObject({ language: z.enum(['en', 'de']).default('en') }),
      answer: 'the sheet',
      type: 'application/pdf',
      handle: async ({ params, query: { language } }, response) => {
        const survey = params['survey'] ?? '';
        const path = `/surveys/${of(params)}/${encodeURIComponent(survey)}/sheet?language=${language}`;
        const { body, type } = await client.fetch(path);
        response.setHeader('cache-control', 'no-store');
        response.setHeader('content-disposition', `attachment; filename="${fileName(survey)}.pdf"`);
        response.type(type).send(body);
      },
    }),
    operation({
      method: 'post',
      path: '/stations/{station}/surveys',
      summary: 'A survey was taken: of the plant’s own points over a soak, or from a logger’s file',
      guards,
      body: z.strictObject({
        id: actId,
        by,
        survey: name,
        setPointC: z.number(),
        toleranceK: z.number().positive(),
        grid: z.string().max(12).default(''),
        note: z.string().trim().max(1000).default(''),
        soak,
      }),
      answer: 'number of the entry',
      handle: ({ params, body: { id, by: who, ...body } }) => {
        const station = params['station'] ?? '';
        const about = { station };
        return client.act({ id, kind: 'survey-taken', by: who, about, body: { ...body, station } });
      },
    }),
    operation({
      method: 'post',
      path: '/stations/{station}/place',
      summary: 'What a survey says of a place is taken over: it counts for what starts later',
      guards,
      body: z.strictObject({
        id: actId,
        by,
        survey: name,
        placeK: z.number(),
        n: z.number().int().nonnegative(),
      }),
      answer: 'number of the entry',
      handle: ({ params, body: { id, by: who, n, ...body }, signed }) => {
        const station = params['station'] ?? '';
        return client.act({
          ...{ id, ...signed, kind: 'place-approved', by: who, about: { station } },
          body: { ...body, station },
          on: { n },
        });
      },
    }),
  ];
}

/** What every file system takes. */
function fileName(survey: string): string {
  return survey.replaceAll(/[^\w.-]+/g, '_');
}
