import { collectDefaultMetrics, Counter, Gauge, Registry } from 'prom-client';
import type { RequestHandler } from 'express';
import type { Follower } from './follower.ts';
import type { LiveFeed } from './live-feed.ts';

export interface Metrics {
  registry: Registry;
  count: RequestHandler;
}

/** Figures of the server, in OpenMetrics text; names begin `setwell_`. */
export function metrics(feed: LiveFeed, follower: Follower): Metrics {
  const registry = new Registry();
  registry.setContentType(Registry.OPENMETRICS_CONTENT_TYPE as never);
  collectDefaultMetrics({ register: registry, prefix: 'setwell_dashboard_' });
  new Gauge({
    name: 'setwell_dashboard_streams',
    help: 'Open event streams',
    registers: [registry],
    collect() {
      this.set(feed.listeners);
    },
  });
  new Gauge({
    name: 'setwell_dashboard_collector_connected',
    help: '1 while the collector answers',
    registers: [registry],
    collect() {
      this.set(follower.connected ? 1 : 0);
    },
  });
  const requests = new Counter({
    name: 'setwell_dashboard_requests',
    help: 'Answers by status class',
    labelNames: ['status'] as const,
    registers: [registry],
  });
  const count: RequestHandler = (_request, response, next) => {
    response.on('finish', () =>
      requests.inc({ status: `${Math.floor(response.statusCode / 100)}xx` }),
    );
    next();
  };
  return { registry, count };
}
