import { ActRefused, actSchema } from './acts/act.ts';
import { followRoutes } from './follow-routes.ts';
import { importRoutes } from './import-routes.ts';
import { readingRoutes } from './reading-routes.ts';
import { recordRoutes } from './record-routes.ts';
import type { Route } from './route.ts';
import type { Served } from './served.ts';
import { json } from './server.ts';

/** The whole interface. */
export function routesOf(served: Served): Route[] {
  return [
    ...healthRoutes(served),
    { method: 'GET', path: '/hello', answer: () => json(served.hello()) },
    ...followRoutes(served),
    ...readingRoutes(served),
    ...recordRoutes(served),
    ...importRoutes(served),
    actRoute(served),
  ];
}

function healthRoutes({ ready, metrics }: Served): Route[] {
  return [
    {
      method: 'GET',
      path: '/health/live',
      open: true,
      answer: () => json({ live: true }),
    },
    {
      method: 'GET',
      path: '/health/ready',
      open: true,
      answer: () => {
        const state = ready();
        return json(state, state.ready ? 200 : 503);
      },
    },
    {
      method: 'GET',
      path: '/metrics',
      answer: async () => ({
        status: 200,
        type: 'application/openmetrics-text; version=1.0.0; charset=utf-8',
        body: await metrics(),
      }),
    },
  ];
}

function actRoute({ acts }: Served): Route {
  return {
    method: 'POST',
    path: '/acts',
    answer: async (_asked, body) => {
      const act = actSchema.safeParse(body);
      if (act.success) {
        const answer = await acts.do(act.data);
        return json(answer, 'stored' in answer ? 202 : 200);
      }
      const [issue] = act.error.issues;
      throw new ActRefused({
        status: 422,
        code: 'bad-input',
        field: issue?.path.join('.') ?? '',
        found: 'something else',
        expected: issue?.message ?? 'an act',
      });
    },
  };
}
