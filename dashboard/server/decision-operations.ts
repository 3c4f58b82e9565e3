import { z } from 'zod';
import type { Act } from '@setwell/shared-models/api/collector';
import { corrections } from '@setwell/shared-models/api/correction';
import type { FloorCall } from '@setwell/shared-models/api/floor';
import type { About } from '@setwell/shared-models/record/entry';
import type { RequestHandler } from 'express';
import { actId, by, name } from './act-operations.ts';
import type { ActSent } from './collector-client.ts';
import type { LoadView } from './load-view.ts';
import { operation, type Operation } from './operation.ts';
import { Problem } from './problem.ts';
import type { Sources } from './reading-operations.ts';

const reason = z.string().trim().min(1, 'a reason, so that the record says why').max(1000);
const untilMs = z.number().int().positive();

/** What people decide: over calls, loads, stations and a shift. */
export function decisionOperations(sources: Sources, guards: RequestHandler[]): Operation[] {
  const { client } = sources;
  const send: Send = (act) => client.act(act);
  return [
    ...callOperations(sources, guards, send),
    ...loadOperations(sources, guards, send),
    ...stationOperations(guards, send),
    outboxOperation(sources, guards),
  ];
}

type Send = (act: Act) => Promise<ActSent>;

function aboutCall(call: FloorCall): About {
  return {
    call: call.id,
    ...(call.station === null ? {} : { station: call.station }),
    ...(call.load === null ? {} : { load: call.load }),
  };
}

function callOperations({ view }: Sources, guards: RequestHandler[], send: Send): Operation[] {
  const called = (id: string | undefined): FloorCall => {
    const call = view.call(id ?? '');
    if (call === null) throw new Problem(404, 'not-found', `No call "${id}" is known.`);
    return call;
  };
  return [
    operation({
      method: 'post',
      path: '/calls/{id}/shelve',
      summary: 'A call is put aside, with a reason and an end; it is evaluated on',
      guards,
      body: z.strictObject({ id: actId, by, reason: reason.max(500), untilMs }),
      answer: 'number of the entry',
      handle: ({ params, body }) => {
        const call = called(params['id']);
        return send({
          id: body.id,
          kind: 'call-shelved',
          by: body.by,
          about: aboutCall(call),
          body: { reason: body.reason, untilMs: body.untilMs },
          on: { n: call.lastN },
        });
      },
    }),
    operation({
      method: 'post',
      path: '/calls/{id}/void',
      summary: 'A closing that nobody has named held nothing',
      guards,
      body: z.strictObject({ id: actId, by, reason: reason.max(500) }),
      answer: 'number of the entry',
      handle: ({ params, body }) => {
        const call = called(params['id']);
        return send({
          id: body.id,
          kind: 'closing-voided',
          by: body.by,
          about: aboutCall(call),
          body: { reason: body.reason },
          on: { n: call.lastN },
        });
      },
    }),
    operation({
      method: 'post',
      path: '/calls/{id}/unshelve',
      summary: 'A call that was put aside is listed again',
      guards,
      body: z.strictObject({ id: actId, by, note: z.string().trim().max(500).optional() }),
      answer: 'number of the entry',
      handle: ({ params, body }) => {
        const call = called(params['id']);
        return send({
          id: body.id,
          kind: 'call-unshelved',
          by: body.by,
          about: aboutCall(call),
          body: { note: body.note ?? null },
          on: { n: call.lastN },
        });
      },
    }),
  ];
}

const decisions = [
  'hold',
  'release',
  'extend',
  're-press',
  'rework',
  'scrap',
  'concession',
] as const;

function loadOperations({ view }: Sources, guards: RequestHandler[], send: Send): Operation[] {
  // Longer than the limit because it is a table: one act after the other, each whole.
  const known = (id: string | undefined): LoadView => {
    const load = view.load(id ?? '');
    if (load === null) throw new Problem(404, 'not-found', `No load "${id}" is known.`);
    return load;
  };
  const aboutLoad = ({ id, station, lot }: LoadView): About => ({
    station,
    load: id,
    ...(lot === '' ? {} : { lots: [lot] }),
  });
  return [
    operation({
      method: 'post',
      path: '/loads/{id}/disposition',
      summary:
        'What happens to a load or to parts of it: held, released, kept closed, pressed again …',
      guards,
      body: z.strictObject({
        id: actId,
        by,
        decision: z.enum(decisions),
        reason,
        /** The sealed account it is taken on; without it the newest. */
        onRevision: z.number().int().positive().optional(),
        parts: z.array(name).max(500).optional(),
        untilMs: untilMs.optional(),
      }),
      answer: 'number of the entry',
      handle: ({ params, body, signed }) => {
        const load = known(params['id']);
        const { id, by: person, decision, onRevision, parts, untilMs: until } = body;
        const newest = load.revisions.at(-1)?.revision;
        const on = onRevision ?? newest;
        return send({
          id,
          ...signed,
          kind: 'disposition',
          by: person,
          about: aboutLoad(load),
          body: {
            decision,
            reason: body.reason,
            ...(on === undefined ? {} : { onRevision: on }),
            ...(parts === undefined ? {} : { parts }),
            ...(until === undefined ? {} : { untilMs: until }),
          },
        });
      },
    }),
    operation({
      method: 'post',
      path: '/loads/{id}/correct',
      summary:
        'What was said of a load is put right: its lot, recipe or marks, or readings that came too late',
      guards,
      body: z.strictObject({
        id: actId,
        by,
        reason,
        change,
      }),
      answer: 'number of the entry',
      handle: ({ params, body, signed }) => {
        const load = known(params['id']);
        const { id, by: person, reason: why } = body;
        return send({
          id,
          ...signed,
          kind: 'load-corrected',
          by: person,
          about: aboutLoad(load),
          body: { load: load.id, reason: why, change: body.change },
        });
      },
    }),
    operation({
      method: 'post',
      path: '/loads/{id}/note',
      summary: 'What somebody saw of a load, kept with it; it decides nothing',
      guards,
      body: z.strictObject({ id: actId, by, note: z.string().trim().min(1).max(1000) }),
      answer: 'number of the entry',
      handle: ({ params, body }) => {
        const load = known(params['id']);
        const { id, by: person, note } = body;
        return send({ id, kind: 'load-noted', by: person, about: aboutLoad(load), body: { note } });
      },
    }),
    operation({
      method: 'post',
      path: '/loads/{id}/undo',
      summary:
        'A start is taken back: there never was such a load. Later it is a correction with a reason',
      guards,
      body: z.strictObject({ id: actId, by, reason: reason.optional() }),
      answer: 'number of the entry',
      handle: ({ params, body }) => {
        const load = known(params['id']);
        return send({
          id: body.id,
          kind: 'load-corrected',
          by: body.by,
          about: aboutLoad(load),
          body: { load: load.id, reason: body.reason ?? null, change: { what: 'void' } },
        });
      },
    }),
  ];
}

const change = z.discriminatedUnion('what', corrections);

function outboxOperation({ client }: Sources, guards: RequestHandler[]): Operation {
  return operation({
    method: 'post',
    path: '/outbox/test',
    summary: 'A test message by one route: it tells nothing but that it arrives',
    guards,
    body: z.strictObject({ id: actId, by, route: name }),
    answer: 'stored, and its key in the outbox',
    handle: ({ body }) => client.post('/outbox/test', { route: body.route }),
  });
}

function stationOperations(guards: RequestHandler[], send: Send): Operation[] {
  return [
    operation({
      method: 'post',
      path: '/stations/{id}/state',
      summary: 'A station is taken out of service, cleaned, stopped by plan, or put back',
      guards,
      body: z.strictObject({
        id: actId,
        by,
        state: z.enum(['in-service', 'out-of-service', 'cleaning', 'planned-stop']),
        reason,
        untilMs: untilMs.nullable().default(null),
      }),
      answer: 'number of the entry',
      handle: ({ params, body }) => {
        const { id, by: person, ...set } = body;
        const station = params['id'] ?? '';
        return send({ id, kind: 'station-set', by: person, about: { station }, body: set });
      },
    }),
    operation({
      method: 'post',
      path: '/handover/read',
      summary: 'Somebody of the coming shift has read the handover as it stood',
      guards,
      body: z.strictObject({
        id: actId,
        by,
        upToN: z.number().int().min(-1),
        shift: name.nullable().default(null),
        note: z.string().trim().max(500).nullable().default(null),
      }),
      answer: 'number of the entry',
      handle: ({ body }) => {
        const { id, by: person, ...read } = body;
        return send({ id, kind: 'handover-read', by: person, about: {}, body: read });
      },
    }),
  ];
}
