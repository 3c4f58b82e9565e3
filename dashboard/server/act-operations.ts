import { z } from 'zod';
import type { FloorCall } from '@setwell/shared-models/api/floor';
import type { RequestHandler } from 'express';
import { operation, type Operation } from './operation.ts';
import { Problem } from './problem.ts';
import type { Sources } from './reading-operations.ts';

export const name = z.string().min(1).max(120);
/** Who does it: a job on the demo, else the name typed on this browser. The gate puts a proven person's number here. */
export const by = z.string().trim().min(1, 'a name, so that the record says who').max(60);
export const actId = z.uuid();
/** How far back a start or end may be dated by one press [min]; more is a correction with a reason. */
const backDatedMin = z.union([z.literal(0), z.literal(1), z.literal(2), z.literal(5)]).default(0);
const minuteMs = 60_000;

/** What an act says to give a load a closing's clock. @throws Problem where the call is none for it */
function closingNamed(call: FloorCall | null, station: string): object {
  const { startEarliestMs, startLatestMs } = call?.values ?? {};
  if (call?.kind !== 'closing-unnamed' || call.station !== station || call.cleared !== null) {
    const text = `field "closing": no closing of ${station} waits for a name under that call`;
    throw new Problem(409, 'moved-on', text, { field: 'closing' });
  }
  return { t: startLatestMs, earliest: startEarliestMs, latest: startLatestMs, closing: call.id };
}

/** Everything a person does. Each answers with the entry's number, or says that nothing was recorded. */
export function actOperations(sources: Sources, guards: RequestHandler[]): Operation[] {
  // Longer than the limit because it is a table: one act after the other, each whole.
  const { client, follower, view } = sources;
  return [
    operation({
      method: 'post',
      path: '/calls/{id}/acknowledge',
      summary: 'Somebody goes: the call has an owner from now on',
      guards,
      body: z.strictObject({ id: actId, by, note: z.string().trim().max(500).optional() }),
      answer: 'number of the entry',
      handle: ({ params, body }) => {
        const call = view.call(params['id'] ?? '');
        if (call === null)
          throw new Problem(404, 'not-found', `No call "${params['id']}" is known.`);
        return client.act({
          id: body.id,
          kind: 'call-acknowledged',
          by: body.by,
          about: {
            call: call.id,
            ...(call.station === null ? {} : { station: call.station }),
            ...(call.load === null ? {} : { load: call.load }),
          },
          body: { note: body.note ?? null },
          on: { n: call.n },
        });
      },
    }),
    operation({
      method: 'post',
      path: '/loads',
      summary: 'A load is put in, by hand',
      guards,
      body: z.strictObject({
        id: actId,
        by,
        station: name,
        opening: name.nullable().default(null),
        zones: z.array(name).max(64).default([]),
        lot: name,
        parts: z.array(name).max(500).default([]),
        recipe: name.nullable(),
        load: name.optional(),
        backDatedMin,
        /** The call for a closing that the readings show and nobody has named: its clock counts. */
        closing: name.optional(),
      }),
      answer: 'number of the entry, and the load',
      handle: ({ body }) => {
        const { station, opening, zones, lot, parts, recipe } = body;
        const nowMs = follower.nowMs();
        const named =
          body.closing === undefined ? {} : closingNamed(view.call(body.closing), station);
        const t = Math.round(nowMs - body.backDatedMin * minuteMs);
        return client.act({
          id: body.id,
          kind: 'load-start',
          by: body.by,
          about: { station, lots: [lot], ...(body.load === undefined ? {} : { load: body.load }) },
          body: {
            t,
            ...named,
            event: 'load-start',
            ...(body.load === undefined ? {} : { load: body.load }),
            lot,
            ...(recipe === null ? {} : { recipe }),
            ...(zones.length === 0 ? {} : { zones }),
            ...(opening === null ? {} : { opening }),
            parts,
            by: body.by,
          },
        });
      },
    }),
    operation({
      method: 'post',
      path: '/loads/{id}/end',
      summary: 'A load is taken out, by hand',
      guards,
      body: z.strictObject({ id: actId, by, backDatedMin }),
      answer: 'number of the entry',
      handle: ({ params, body }) => {
        const load = params['id'] ?? '';
        const known = view.load(load) ?? follower.judgement(load);
        if (known === null) throw new Problem(404, 'not-found', `No load "${load}" is known.`);
        if (known.state !== 'open') {
          throw new Problem(409, 'moved-on', `The load "${load}" has ended already.`);
        }
        const t = Math.round(follower.nowMs() - body.backDatedMin * minuteMs);
        return client.act({
          id: body.id,
          kind: 'load-end',
          by: body.by,
          about: { station: known.station, load },
          body: { t, event: 'load-end', load, by: body.by },
        });
      },
    }),
  ];
}
