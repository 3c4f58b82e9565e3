import { PassThrough } from 'node:stream';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { TraceView } from '@setwell/shared-models/score/trace';
import { promised } from '../promised.ts';
import { lotCsv } from '../export/lot-csv.ts';
import { unknown } from './refused.ts';
import type { Answer, Asked, Route } from './route.ts';
import type { Served } from './served.ts';
import { json } from './server.ts';

/** What is recorded: a lot's file, a document, the pictures of a load. */
export function recordRoutes({ ledger, lot: lotNamed, trace: traceOf }: Served): Route[] {
  return [
    {
      method: 'GET',
      path: '/trace/{load}',
      answer: async (asked) => {
        const load = asked.name('load');
        const unjudged = () => unknown('load', load, 'a load that is judged');
        if (asked.has('told')) return toldTrace(traceOf, load, viewOf(asked), unjudged);
        const trace = await traceOf(load, viewOf(asked));
        if (!trace) throw unjudged();
        return json(trace);
      },
    },
    {
      method: 'GET',
      path: '/records/{lot}',
      answer: (asked) => {
        const lot = asked.name('lot');
        const as = asked.oneOf('as', ['json', 'csv'], 'json');
        const file = lotNamed(lot);
        if (!file) throw unknown('lot', lot, 'a lot with at least one entry');
        if (as === 'csv') {
          return { status: 200, type: 'text/csv; charset=utf-8', body: lotCsv(file) };
        }
        const type = 'application/json; charset=utf-8';
        return { status: 200, type, body: canonicalJson(file) };
      },
    },
    {
      method: 'GET',
      path: '/blob/{sha256}',
      answer: (asked) => {
        const sha256 = asked.name('sha256');
        const bytes = ledger.blob(sha256);
        if (!bytes) throw unknown('sha256', sha256, 'the digest of a document of the ledger');
        return { status: 200, type: 'application/octet-stream', body: bytes };
      },
    },
  ];
}

/** Whoever waits for a picture hears at least so often that it comes [ms]. */
const waitingEveryMs = 5_000;

/**
 * A picture as lines of JSON: `{"share":0.4}` while it is drawn, where that takes long, and the trace in the
 * last one.
 *
 * @throws Refused where there is none
 */
async function toldTrace(
  traceOf: Served['trace'],
  load: string,
  view: TraceView,
  unjudged: () => Error,
): Promise<Answer> {
  const lines = new PassThrough();
  const line = (value: object) => lines.write(`${JSON.stringify(value)}\n`);
  const begun = promised();
  const tell = (share: number) => {
    line({ share });
    begun.resolve();
  };
  // Behind other pictures nothing is told of this one, and whoever reads would take us for gone.
  const waiting = setInterval(() => tell(0), waitingEveryMs);
  const drawn = traceOf(load, view, (share) => {
    clearInterval(waiting);
    tell(share);
  })
    .then((trace) => {
      if (trace === null) throw unjudged();
      line({ trace });
      lines.end();
    })
    .finally(() => clearInterval(waiting));
  // What fails before it has begun is refused as any other; later only the connection can say so.
  await Promise.race([begun.promise, drawn]);
  drawn.catch((error: unknown) => lines.destroy(error as Error));
  return { status: 200, type: 'application/x-ndjson', body: lines };
}

const mostGlueLines = 1000;
const endOfTimeMs = 8.64e15;

/** @throws Refused where a field is none */
function viewOf(asked: Asked): TraceView {
  const time = { from: 0, to: endOfTimeMs };
  return {
    zone: asked.has('zone') ? asked.name('zone') : undefined,
    glueLine: asked.has('glueLine')
      ? asked.integer('glueLine', { from: 1, to: mostGlueLines })
      : undefined,
    fromMs: asked.has('from') ? asked.integer('from', time) : undefined,
    points: asked.has('points') ? asked.integer('points', { from: 10, to: 4000 }) : undefined,
    toMs: asked.has('to') ? asked.integer('to', time) : undefined,
  };
}
