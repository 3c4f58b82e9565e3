import type { Response } from 'express';
import { z } from 'zod';
import { floorRow } from '@setwell/shared-models/api/floor';
import { shownCoat, type CoatShown } from '@setwell/shared-models/record/coat-shown';
import type { Judgement } from '@setwell/shared-models/api/collector';
import type { LotDetail, LotStep, LoadDetail } from '@setwell/shared-models/api/dashboard';
import type { LoadNoted } from '@setwell/shared-models/record/bodies';
import { lotCoats, type BakeTold } from '@setwell/shared-models/record/lot-coats';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import { CollectorError, type CollectorClient } from './collector-client.ts';
import { floorLoad, worstFirst } from './floor-load.ts';
import type { Follower } from './follower.ts';
import { handoverOf } from './handover.ts';
import type { LiveFeed } from './live-feed.ts';
import type { LoadView } from './load-view.ts';
import { operation, type Operation } from './operation.ts';
import { cursorAfter, pageCursor, readCursor, timeMs } from './page-cursor.ts';
import { Problem } from './problem.ts';
import { lotPlace, type ViewDb } from './view-db.ts';

export interface Sources {
  client: CollectorClient;
  follower: Follower;
  feed: LiveFeed;
  view: ViewDb;
}

const limit = z.coerce.number().int().min(1).max(1000).default(100);
const name = z.string().min(1).max(120);

function loadAfter(cursor: string | undefined): { startMs: number; id: string } | undefined {
  const place = readCursor(cursor, z.tuple([z.number(), z.string()]));
  return place && { startMs: place[0], id: place[1] };
}

/** Everything that only reads. */
export function readingOperations(sources: Sources): Operation[] {
  // Longer than the limit because it is a table: one question after the other, each whole.
  const { client, follower, feed, view } = sources;
  return [
    operation({
      method: 'get',
      path: '/stations',
      summary: 'Each station with what it says now',
      answer: 'site, link to the collector, stations with their row',
      handle: () => {
        const { site, link } = feed.state;
        const nowMs = follower.nowMs();
        const stations = (site?.stations ?? []).map((station) => ({
          ...station,
          row: floorRow(feed.state, station.id, nowMs),
        }));
        return { nowMs, site: site?.site ?? null, link, stations };
      },
    }),
    operation({
      method: 'get',
      path: '/loads',
      summary: 'Loads, newest first',
      query: z.strictObject({
        lot: name.optional(),
        station: name.optional(),
        verdict: z.enum(['in-window', 'under', 'over', 'unproven']).optional(),
        from: timeMs.optional(),
        to: timeMs.optional(),
        limit,
        cursor: pageCursor,
      }),
      answer: 'loads, cursor of the next page or null',
      handle: ({ query }) => {
        const loads = view.loads({
          lot: query.lot,
          station: query.station,
          verdict: query.verdict,
          fromMs: query.from,
          toMs: query.to,
          after: loadAfter(query.cursor),
          limit: query.limit,
        });
        const last = loads[loads.length - 1];
        const more = last && loads.length === query.limit;
        return { loads, cursor: more ? cursorAfter([last.startMs, last.id]) : null };
      },
    }),
    operation({
      method: 'get',
      path: '/loads/{id}',
      summary: 'One load: what is said of it, its places worst first, its entries',
      answer: 'LoadDetail',
      handle: ({ params }) => loadDetail(sources, params['id'] ?? ''),
    }),
    operation({
      method: 'get',
      path: '/loads/{id}/series',
      summary: 'Faces, glue lines, section and growth of a load on one clock',
      query: z.strictObject({
        points: z.coerce.number().int().min(10).max(4000).default(600),
        zone: name.optional(),
        glueLine: z.coerce.number().int().min(1).max(1000).optional(),
        from: timeMs.optional(),
        to: timeMs.optional(),
        told: z.literal('1').optional(),
      }),
      answer:
        'LoadTrace; with told=1 lines of JSON: {"share": …} while it is drawn, {"trace": LoadTrace} in the last',
      handle: ({ params, query }, response) => {
        const asked = new URLSearchParams();
        for (const [field, value] of Object.entries(query)) {
          if (value !== undefined) asked.set(field, String(value));
        }
        const path = `/trace/${encodeURIComponent(params['id'] ?? '')}?${asked.toString()}`;
        return query.told === undefined ? client.ask(path) : passLines(client, path, response);
      },
    }),
    operation({
      method: 'get',
      path: '/readings',
      summary: 'Readings of a point, as least, greatest and mean a step',
      query: z.strictObject({
        point: name,
        from: timeMs,
        to: timeMs,
        points: z.coerce.number().int().min(1).max(5000).default(1000),
      }),
      answer: 'ReadingSeries',
      handle: ({ query }) => {
        const { point, from, to, points } = query;
        const asked = new URLSearchParams({
          point,
          from: String(from),
          to: String(to),
          points: String(points),
        });
        return client.ask(`/readings?${asked.toString()}`);
      },
    }),
    operation({
      method: 'get',
      path: '/calls',
      summary: 'Calls, newest first',
      query: z.strictObject({
        limit,
        cursor: pageCursor,
        station: name.optional(),
        from: timeMs.optional(),
        to: timeMs.optional(),
      }),
      answer: 'calls, cursor of the next page or null',
      handle: ({ query: { limit: most, cursor, station, from, to } }) => {
        const after = readCursor(cursor, z.tuple([z.number(), z.string()]));
        const calls = view.calls({ limit: most, after, station, fromMs: from, toMs: to });
        const last = calls.at(-1);
        const more = last && calls.length === most;
        return { calls, cursor: more ? cursorAfter([last.raisedMs, last.id]) : null };
      },
    }),
    operation({
      method: 'get',
      path: '/handover',
      summary: 'What one shift leaves to the next, on one sheet',
      answer: 'Handover',
      handle: () => handoverOf(sources),
    }),
    operation({
      method: 'get',
      path: '/lots',
      summary: 'Lots by what must happen: held, in work, then newest',
      query: z.strictObject({ limit, cursor: pageCursor }),
      answer: 'lots, cursor of the next page or null',
      handle: ({ query }) => {
        const after = readCursor(
          query.cursor,
          z.tuple([z.number(), z.number(), z.number(), z.string()]),
        );
        const lots = view.lots(query.limit, after);
        const last = lots.at(-1);
        const more = last && lots.length === query.limit;
        return { lots, cursor: more ? cursorAfter(lotPlace(last)) : null };
      },
    }),
    operation({
      method: 'get',
      path: '/outbox',
      summary: 'What people are told away from the screens: sent, waiting, given up',
      query: z.strictObject({ limit }),
      answer: 'routes, messages newest first',
      handle: ({ query }) => client.ask(`/outbox?limit=${query.limit}`),
    }),
    operation({
      method: 'get',
      path: '/lots/{id}',
      summary: 'One lot: its steps as they happened',
      answer: 'LotDetail',
      handle: ({ params }) => lotDetail(sources, params['id'] ?? ''),
    }),
    operation({
      method: 'get',
      path: '/lots/{id}/file',
      summary: 'The lot’s file, as the collector writes it',
      query: z.strictObject({
        as: z.enum(['bundle', 'pdf', 'json', 'csv']).default('json'),
        language: z.enum(['en', 'de']).default('en'),
      }),
      answer: 'the file',
      type: 'application/octet-stream',
      handle: async ({ params, query, by }, response) => {
        const lot = params['id'] ?? '';
        const wanted = { ...query, by: by === '' ? 'plant' : by };
        const file = await client.take(`/records/${encodeURIComponent(lot)}/export`, wanted);
        const ending = query.as === 'bundle' ? 'bundle.zip' : query.as;
        const safe = lot.replaceAll(/[^\w.-]/g, '_');
        response.setHeader('content-disposition', `attachment; filename="${safe}.${ending}"`);
        response.type(file.type).send(file.body);
      },
    }),
    operation({
      method: 'get',
      path: '/points',
      summary: 'Each point with its last value; all of them, or one and those of its station',
      query: z.strictObject({ beside: name.optional() }),
      answer: 'points',
      handle: async ({ query: { beside } }) => {
        const asked = beside === undefined ? '' : `?beside=${encodeURIComponent(beside)}`;
        return { points: await client.ask(`/points${asked}`) };
      },
    }),
    operation({
      method: 'get',
      path: '/health',
      summary:
        'The collector itself: clock, disk, broker, long history, and what is odd of each point',
      answer: 'HealthNow',
      handle: () => client.ask('/health/now'),
    }),
    operation({
      method: 'get',
      path: '/rejects',
      summary: 'Messages set aside, with their reason, newest first',
      query: z.strictObject({ limit }),
      answer: 'rejects',
      handle: async ({ query }) => ({
        rejects: await client.ask(`/rejects?limit=${query.limit}`),
      }),
    }),
    operation({
      method: 'get',
      path: '/ledger',
      summary: 'Entries of the ledger in their order, as followed',
      query: z.strictObject({ after: z.coerce.number().int().min(-1).default(-1), limit }),
      answer: 'log, entries, the number to ask on from',
      handle: ({ query }) => {
        const log = follower.hello?.log;
        if (log === undefined) throw new Problem(503, 'not-yet', 'No ledger has been seen yet.');
        const rows = view.entriesAfter(log, query.after, query.limit);
        const entries = rows.map((row) => JSON.parse(row.bytes) as unknown);
        return { log, entries, after: rows[rows.length - 1]?.n ?? query.after };
      },
    }),
  ];
}

/**
 * Lines of the collector's as they come; whoever has asked may let go of them.
 *
 * @throws CollectorError where it refuses, or does not answer
 */
function passLines(client: CollectorClient, path: string, response: Response): Promise<void> {
  return new Promise((resolve, reject) => {
    const stop = client.follow(
      path,
      (line) => {
        if (!response.headersSent) {
          // A block of a compressed answer would be waited for until it is full.
          response.writeHead(200, {
            'content-type': 'application/x-ndjson',
            'cache-control': 'no-store, no-transform',
          });
        }
        response.write(`${line}\n`);
      },
      (error) => {
        if (error !== null && !response.headersSent) {
          const isTold = error instanceof CollectorError;
          reject(isTold ? error : new CollectorError(error.message, null));
        } else {
          response.end();
          resolve();
        }
      },
    );
    response.on('close', stop);
  });
}

/** The effective result of a sealed load; null where none is sealed or its document is gone. */
export async function sealedResult(
  follower: Follower,
  view: LoadView | null,
): Promise<{ result: ScoreResult | null; input: ScoreInput | null }> {
  const sealed = view?.revisions[view.revisions.length - 1];
  if (sealed === undefined) return { result: null, input: null };
  const fetched = async (sha256: string): Promise<unknown> => {
    try {
      return await follower.blob(sha256);
    } catch (error) {
      if (error instanceof CollectorError) return null;
      throw error;
    }
  };
  return {
    result: (await fetched(sealed.result.sha256)) as ScoreResult | null,
    input: (await fetched(sealed.input.sha256)) as ScoreInput | null,
  };
}

async function loadDetail({ follower, view, feed }: Sources, id: string): Promise<LoadDetail> {
  const known = view.load(id);
  const judgement = follower.judgement(id);
  if (known === null && judgement === null) {
    throw new Problem(404, 'not-found', `No load "${id}" is known.`);
  }
  if (known !== null && known.voided !== null) {
    throw new Problem(410, 'void', `"${id}" was taken back by ${known.voided.by}: no such load.`);
  }
  const { result, input } = await sealedResult(follower, known);
  const title = follower.recipeTitle(known?.recipe?.id ?? judgement?.recipe?.id);
  const load = floorLoad(known, judgement, result, title);
  if (load === null) throw new Problem(404, 'not-found', `No load "${id}" is known.`);
  const calls = Object.values(feed.state.calls).filter((call) => call.load === id);
  const entries = view.entriesOfLoad(id);
  return {
    load,
    places: result === null ? (judgement?.places ?? []) : worstFirst(result),
    coats: coatsOf(result, judgement),
    budget: result?.budget ?? judgement?.budget ?? [],
    requirements: result?.requirements ?? judgement?.requirements ?? [],
    repress: result === null ? (judgement?.repress ?? null) : result.repress,
    deviations: result?.deviations ?? judgement?.deviations ?? [],
    reasons: result?.reasons ?? judgement?.reasons ?? [],
    quality: result?.quality ?? judgement?.quality ?? null,
    parts: known?.parts ?? judgement?.parts ?? [],
    marksAssumed: input?.marks.pressureOn.assumed === true,
    startedBy: known?.startedBy ?? null,
    endedBy: known?.endedBy ?? null,
    fault: known?.fault ?? null,
    revisions: (known?.revisions ?? []).map(
      ({ revision, atMs, because, verdict, side, n, sealedBy }) => ({
        revision,
        atMs,
        because,
        verdict,
        side,
        n,
        sealedBy,
      }),
    ),
    calls,
    notes: entries
      .filter(({ kind }) => kind === 'load-noted')
      .map(({ n, at, by, body }) => ({ n, atMs: at, by, note: (body as LoadNoted).note })),
    entries: entries.map(({ n, at, kind, by }) => ({ n, atMs: at, kind, by })),
  };
}

/** So many loads of a lot are shown as steps. */
const mostSteps = 200;

async function lotDetail(sources: Sources, lot: string): Promise<LotDetail> {
  const { follower, view, feed } = sources;
  const newest = view.loads({ lot, limit: mostSteps + 1 });
  const loads = newest.slice(0, mostSteps).reverse();
  if (loads.length === 0) throw new Problem(404, 'not-found', `No lot "${lot}" is known.`);
  const steps: LotStep[] = [];
  const bakes: BakeTold[] = [];
  for (const load of loads) {
    const { result } = await sealedResult(follower, load);
    const title = follower.recipeTitle(load.recipe?.id);
    const judgement = follower.judgement(load.id);
    const shown = floorLoad(load, judgement, result, title);
    bakes.push({ load: load.id, parts: load.parts, coats: coatsOf(result, judgement) });
    const kind = feed.state.site?.stations.find(({ id }) => id === load.station)?.kind ?? null;
    if (shown !== null) {
      steps.push({ load: shown, kind, parts: load.parts, revision: load.revisions.length });
    }
  }
  const calls = Object.values(feed.state.calls).filter((call) =>
    loads.some((load) => load.id === call.load),
  );
  return { lot, steps, isCut: newest.length > mostSteps, coats: lotCoats(bakes), calls };
}

export function coatsOf(result: ScoreResult | null, judgement: Judgement | null): CoatShown[] {
  return result === null ? (judgement?.coats ?? []) : (result.coats ?? []).map(shownCoat);
}
