import compression from 'compression';
import express, { type Express } from 'express';
import { actOperations } from './act-operations.ts';
import { openApi, readableDescription } from './description.ts';
import { decisionOperations } from './decision-operations.ts';
import { eventStream } from './event-stream.ts';
import { limitActs, limitReads, loopbackHost, sameOrigin, securityHeaders } from './guard.ts';
import { metrics } from './metrics.ts';
import { mount, operation, type Operation } from './operation.ts';
import { notFound, Problem, problemHandler } from './problem.ts';
import { readingOperations, type Sources } from './reading-operations.ts';
import { webPage } from './web-page.ts';

/** An act of 500 parts with long names is about 60 KB. */
const bodyLimit = '64kb';

export interface AppParts extends Sources {
  version: string;
  webFolder: string;
  log: (line: string) => void;
}

/** The dashboard's whole interface: `/api/v1`, health, metrics and the page. */
export function createApp(parts: AppParts): Express {
  const { feed, follower } = parts;
  const app = express();
  app.disable('x-powered-by');
  app.set('trust proxy', false);
  app.set('query parser', 'simple');
  const figures = metrics(feed, follower);
  app.use(securityHeaders, loopbackHost, limitReads, figures.count);

  const stream = eventStream(feed, () => follower.nowMs());
  app.get('/api/v1/stream', stream); // before compression: a stream must not wait for a block to fill
  app.use(compression());

  const actGuards = [limitActs(), sameOrigin, express.json({ limit: bodyLimit })];
  const operations: Operation[] = [
    ...readingOperations(parts),
    ...actOperations(parts, actGuards),
    ...decisionOperations(parts, actGuards),
  ];
  const described: Operation[] = [
    ...operations,
    operation({
      method: 'get',
      path: '/stream',
      summary: 'What changes on the floor, as server-sent events',
      answer: 'events "frame" (LiveFrame) and "beat"; Last-Event-ID replays what was missed',
      type: 'text/event-stream',
      handle: () => undefined,
    }),
  ];
  const api = express.Router();
  mount(api, operations);
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
  app.get('/metrics', async (_request, response) => {
    response.type(figures.registry.contentType).send(await figures.registry.metrics());
  });
  app.use(webPage(parts.webFolder, feed));
  app.use(notFound);
  app.use(problemHandler(parts.log));
  return app;
}
