import type { PointNow } from '@setwell/shared-models/api/collector';
import compression from 'compression';
import express, { type Express, type Request, type RequestHandler } from 'express';
import { z } from 'zod';
import { actOperations } from './act-operations.ts';
import { openApi, readableDescription } from './description.ts';
import { decisionOperations } from './decision-operations.ts';
import { surveyOperations } from './survey-operations.ts';
import { keepingOperations } from './keeping-operations.ts';
import { heatUpOperations } from './heat-up-operations.ts';
import { eventStream, type Admission } from './event-stream.ts';
import {
  knownHost,
  limitPerMin,
  sameOrigin,
  usualLimits,
  type RequestLimits,
  securityHeaders,
} from './guard.ts';
import { metrics } from './metrics.ts';
import { deviceOperations } from './people/device-operations.ts';
import { Gate } from './people/gate.ts';
import { ownOperations } from './people/own-operations.ts';
import { peopleOperations } from './people/people-operations.ts';
import { signOnOperations } from './people/sign-on-operations.ts';
import { signInOperations, type SignInParts } from './people/sign-in-operations.ts';
import { mount, operation, type Operation } from './operation.ts';
import { notFound, Problem, problemHandler } from './problem.ts';
import { instrumentOperations } from './instrument-operations.ts';
import { readingOperations, type Sources } from './reading-operations.ts';
import { readingEvents, type ReadingStream } from './reading-stream.ts';
import { partOperations } from './part-operations.ts';
import { RecipeDocuments } from './recipe-documents.ts';
import { recipeOperations } from './recipe-operations.ts';
import { recordOperations } from './record-operations.ts';
import { searchOperations } from './search-operations.ts';
import { pageName, webPage } from './web-page.ts';

/** An act of 500 parts with long names is about 60 KB. */
const bodyLimit = '64kb';

export interface AppParts extends Sources {
  version: string;
  webFolder: string;
  readings: ReadingStream;
  people: SignInParts;
  limits?: RequestLimits;
  beatEveryMs: number;
  /** Names this server answers to; a page of another site may point its own here. */
  hosts: readonly string[];
  log: (line: string) => void;
}

/** The dashboard's whole interface: `/api/v1`, health, metrics and the page. */
export function createApp(parts: AppParts): Express {
  const { feed, follower, limits = usualLimits } = parts;
  const app = express();
  app.disable('x-powered-by');
  app.set('trust proxy', false);
  app.set('query parser', 'simple');
  // One spelling of an address: what is decided by it is decided for all that reach it.
  app.set('case sensitive routing', true);
  const figures = metrics(feed, follower);
  app.use(
    securityHeaders(parts.people.secure),
    knownHost(parts.hosts),
    limitPerMin(limits.readsPerMin),
    figures.count,
  );

  const gate = gateOf(parts);
  const asked: RequestHandler = (request, _response, next) => {
    gate.admitReader(request);
    next();
  };
  const page = pageName(parts.webFolder);
  const reachOf = (request: Request) => gate.reachOfRequest(request);
  const admission = admissionOf(parts, gate);
  const stream = eventStream(feed, () => follower.nowMs(), page, admission);
  // Before compression: a stream must not wait for a block to fill.
  app.get('/api/v1/stream', asked, stream);
  app.get('/api/v1/readings/stream', asked, readingEvents(parts.readings, admission));
  app.use(compression());

  const guards = [limitPerMin(limits.actsPerMin), sameOrigin, express.json({ limit: bodyLimit })];
  const operations = operationsOf(parts, guards);
  const described = [...operations, ...streamed];
  const api = express.Router({ caseSensitive: true });
  mount(api, operations, gate);
  const openapi = openApi(described, parts.version);
  api.get('/openapi.json', (_request, response) => {
    response.json(openapi);
  });
  api.get('/docs', (_request, response) => {
    response.type('html').send(readableDescription(described, parts.version));
  });
  api.use(notFound);
  app.use('/api/v1', api);

  app.get('/health/live', (_request, response) => {
    response.json({ live: true });
  });
  app.get('/health/ready', (_request, response) => {
    if (!follower.connected) {
      throw new Problem(503, 'not-ready', 'The collector does not answer.');
    }
    response.json({ ready: true });
  });
  app.get('/metrics', asked, async (_request, response) => {
    response.type(figures.registry.contentType).send(await figures.registry.metrics());
  });
  app.use(
    webPage(parts.webFolder, feed, page, {
      mayLook: (request) => gate.letsRead(request),
      reachOf,
    }),
  );
  app.use(notFound);
  app.use(problemHandler(parts.log));
  return app;
}

function admissionOf({ people, beatEveryMs }: AppParts, gate: Gate): Admission {
  return {
    mayRead: (request) => gate.letsRead(request),
    reachOf: (request) => gate.reachOfRequest(request),
    onChange: (listener) => people.db.onChange(listener),
    beatEveryMs,
  };
}

/** Served before the others, described with them. */
const streamed = [
  operation({
    method: 'get',
    path: '/stream',
    summary: 'What changes on the floor, as server-sent events',
    answer: 'events "frame" (LiveFrame) and "beat"; Last-Event-ID replays what was missed',
    type: 'text/event-stream',
    handle: () => undefined,
  }),
  operation({
    method: 'get',
    path: '/readings/stream',
    summary: 'Newest values of one point or of all as they come, as server-sent events',
    query: z.strictObject({ point: z.string().min(1).max(200).optional() }),
    answer: 'events "readings" (ReadingFrame), at most five a second',
    type: 'text/event-stream',
    handle: () => undefined,
  }),
];

function operationsOf(parts: AppParts, guards: RequestHandler[]): Operation[] {
  const documents = new RecipeDocuments(parts);
  return [
    ...readingOperations(parts),
    ...partOperations(parts, documents),
    ...recipeOperations(parts, documents),
    ...recordOperations(parts),
    ...searchOperations(parts),
    ...keepingOperations(parts, guards),
    ...actOperations(parts, guards),
    ...decisionOperations(parts, guards),
    ...instrumentOperations(parts, guards),
    ...heatUpOperations(parts, guards),
    ...surveyOperations(parts, guards),
    ...signInOperations(parts.people, guards),
    ...ownOperations(parts.people, guards),
    ...signOnOperations(parts.people),
    ...peopleOperations(parts.people, guards),
    ...deviceOperations(parts.people, guards),
  ];
}

function gateOf({ people, view, follower, client }: AppParts): Gate {
  return new Gate({
    who: people.who,
    log: people.log,
    readingIsOpen: () => follower.hello?.site.reading === 'open',
    where: {
      stations: () => follower.hello?.stations ?? null,
      stationOf: (kind, id) =>
        kind === 'call'
          ? (view.call(id)?.station ?? null)
          : ((view.load(id) ?? follower.judgement(id))?.station ?? null),
      stationOfPoint: async (point) => {
        const points = (await client.ask('/points')) as PointNow[];
        return points.find((each) => each.point === point)?.station;
      },
      stationsOfLot: (lot) => view.loads({ lot, limit: 200 }).map(({ station }) => station),
    },
  });
}
