import { z } from 'zod';
import type { Act, ActKind } from '@setwell/shared-models/api/collector';
import type { PointDetail, PointFitted } from '@setwell/shared-models/api/points';
import { dueCalendar, walkingList } from '@setwell/shared-models/metrology/due-calendar';
import { calibrationSchema, instrumentSchema } from '@setwell/shared-models/plant/plant-schema';
import type { RequestHandler } from 'express';
import { actId, by, name } from './act-operations.ts';
import type { ActSent } from './collector-client.ts';
import { operation, type Operation } from './operation.ts';
import { Problem } from './problem.ts';
import type { Sources } from './reading-operations.ts';

const withinDays = z.coerce.number().int().min(0).max(3660).default(60);
const proof = z.strictObject({
  how: z.enum(['warmed-by-hand', 'pulled', 'continuity', 'other']),
  note: z.string().max(500).default(''),
});
const reason = z.string().trim().min(1).max(500);
const atMs = z.number().int().nonnegative().optional();
const instrument = z.union([name, instrumentSchema]);

interface Told {
  nowMs: number;
  points: PointFitted[];
}

/** What is fitted where, what is due, and what maintenance does about it. */
export function instrumentOperations(sources: Sources, guards: RequestHandler[]): Operation[] {
  // Longer than the limit because it is a table: one question or act after the other, each whole.
  const { client, follower } = sources;
  const all = async (): Promise<Told> => (await client.ask('/instruments')) as Told;
  const one = async (point: string): Promise<PointDetail> =>
    (await client.ask(`/instruments/${encodeURIComponent(point)}`)) as PointDetail;
  const due = async (days: number) => {
    const { points } = await all();
    const calibrated = points.flatMap(({ point, station, fitted }) => {
      if (fitted?.certificate == null) return [];
      const { certificate, due: date, daysLeft } = fitted.certificate;
      return [{ point, station, instrument: fitted.instrument, certificate, due: date, daysLeft }];
    });
    return walkingList(calibrated, days);
  };
  const send = async (
    kind: ActKind,
    { id, by: person, meaning }: { id: string; by: string; meaning?: string },
    point: string,
    more: Record<string, unknown>,
  ): Promise<ActSent> => {
    const { station } = await one(point);
    if (station === null) throw new Problem(422, 'bad-input', `point "${point}": of no station`);
    const about = { station, sensor: point };
    const signed = meaning === undefined ? {} : { meaning };
    const act: Act = { id, kind, by: person, about, ...signed, body: { point, ...more } };
    return client.act(act);
  };
  return [
    operation({
      method: 'get',
      path: '/impact',
      summary: 'Instruments that came back out of limits, and the loads they may have spoilt',
      answer: 'running, reviews',
      handle: () => client.ask('/impact'),
    }),
    operation({
      method: 'get',
      path: '/instruments',
      summary: 'Each point with what is fitted there, what vouches for it, what is wrong with it',
      answer: 'nowMs, points',
      handle: all,
    }),
    operation({
      method: 'get',
      path: '/instruments/due',
      summary: 'Calibrations due, as a walking list: by station, then by day',
      query: z.strictObject({ withinDays }),
      answer: 'due',
      handle: async ({ query }) => ({ due: await due(query.withinDays) }),
    }),
    operation({
      method: 'get',
      path: '/instruments/due.ics',
      summary: 'The same as a calendar (RFC 5545)',
      query: z.strictObject({ withinDays: withinDays.default(366) }),
      answer: 'the calendar',
      type: 'text/calendar',
      handle: async ({ query, within }, response) => {
        const site = follower.hello?.site.id ?? 'site';
        const stamp = `${new Date(follower.nowMs()).toISOString().replaceAll(/[-:]|\.\d+/g, '')}`;
        response.setHeader('content-disposition', 'attachment; filename="calibrations.ics"');
        const calendar = dueCalendar(site, within(await due(query.withinDays)), stamp);
        response.type('text/calendar; charset=utf-8').send(calendar);
      },
    }),
    operation({
      method: 'get',
      path: '/points/{id}',
      summary: 'One point: fitted through time, what its last reading is worth, what was found',
      answer: 'PointDetail',
      handle: ({ params }) => one(params['id'] ?? ''),
    }),
    operation({
      method: 'post',
      path: '/points/{id}/fit',
      summary: 'An instrument is put in; with the proof of its wire, where there is one',
      guards,
      body: z.strictObject({
        id: actId,
        by,
        atMs,
        instrument,
        proof: proof.nullable().default(null),
      }),
      answer: 'number of the entry',
      handle: ({ params, body }) =>
        send('instrument-fitted', body, params['id'] ?? '', {
          t: Math.floor(body.atMs ?? follower.nowMs()),
          instrument: body.instrument,
          proof: body.proof,
        }),
    }),
    operation({
      method: 'post',
      path: '/points/{id}/remove',
      summary: 'What is fitted is taken out: its readings count up to then',
      guards,
      body: z.strictObject({ id: actId, by, atMs, reason }),
      answer: 'number of the entry',
      handle: ({ params, body }) =>
        send('instrument-removed', body, params['id'] ?? '', {
          t: Math.floor(body.atMs ?? follower.nowMs()),
          reason: body.reason,
        }),
    }),
    operation({
      method: 'post',
      path: '/points/{id}/withdraw',
      summary: 'Out of service: it is being worked on, until then or until it is put back',
      guards,
      body: z.strictObject({ id: actId, by, untilMs: z.number().int().nullable(), reason }),
      answer: 'number of the entry',
      handle: ({ params, body: { untilMs, reason: why, ...body } }) =>
        send('point-withdrawn', body, params['id'] ?? '', { untilMs, reason: why }),
    }),
    operation({
      method: 'post',
      path: '/points/{id}/restore',
      summary: 'In service again',
      guards,
      body: z.strictObject({ id: actId, by }),
      answer: 'number of the entry',
      handle: ({ params, body }) => send('point-restored', body, params['id'] ?? '', {}),
    }),
    operation({
      method: 'post',
      path: '/points/{id}/prove',
      summary: 'Its wire ends where the drawing says: proven now',
      guards,
      body: z.strictObject({ id: actId, by, proof }),
      answer: 'number of the entry',
      handle: ({ params, body }) =>
        send('wire-proven', body, params['id'] ?? '', {
          atMs: Math.floor(follower.nowMs()),
          proof: body.proof,
        }),
    }),
    operation({
      method: 'post',
      path: '/points/{id}/fallback',
      summary:
        'Another point stands in for it until then, with its offset and how far that may be off',
      guards,
      body: z.strictObject({
        ...{ id: actId, by, standsIn: name, reason },
        fromMs: atMs,
        untilMs: z.number().int(),
        offsetK: z.number().min(-100).max(100),
        expandedK: z.number().positive().max(100),
      }),
      answer: 'number of the entry',
      handle: ({ params, body, signed }) => {
        const { standsIn, reason: why, untilMs, offsetK, expandedK } = body;
        return send('fallback-approved', { ...body, ...signed }, params['id'] ?? '', {
          ...{ standsIn, untilMs, offsetK, expandedK, reason: why },
          fromMs: Math.floor(body.fromMs ?? follower.nowMs()),
        });
      },
    }),
    operation({
      method: 'post',
      path: '/instruments/{id}/calibration',
      summary: 'A certificate, with what was found before and left after adjustment',
      guards,
      body: z.strictObject({ id: actId, by, calibration: calibrationSchema }),
      answer: 'number of the entry',
      handle: async ({ params, body }) => {
        const body_ = { instrument: params['id'] ?? '', calibration: body.calibration };
        const act: Act = {
          ...{ id: body.id, kind: 'instrument-calibrated', by: body.by },
          ...{ about: {}, body: body_ },
        };
        return client.act(act);
      },
    }),
  ];
}
