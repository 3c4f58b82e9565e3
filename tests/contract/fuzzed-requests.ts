import assert from 'node:assert/strict';
import { Agent, request } from 'node:http';
import { text } from 'node:stream/consumers';
import fc from 'fast-check';
import { sceneHello, wholeScene } from '../browser/floor-scene.ts';
import { stage, type Stage } from '../browser/harness.ts';

/** Requests of one seed; ten thousand seeds are a million. */
export const requestsASeed = 100;

interface Described {
  parameters?: { name: string; in: string }[];
  requestBody?: { content: Record<string, { schema: { properties?: Record<string, unknown> } }> };
}

interface Route {
  method: string;
  path: string;
  query: string[];
  body: string[];
}

const nasty = fc.oneof(
  fc.constantFrom<unknown>(
    ...['', ' ', '../../etc/passwd', '%00', '\u0000', "'; DROP TABLE person;--", '<script>'],
    ...['__proto__', 'constructor', '{{7*7}}', '${7*7}', '=1+1', '\u202e', 'ä'.repeat(200)],
    ...[null, true, -1, 0, 1e308, -0, 9007199254740993, 'NaN', '1e999', '2026-02-30T00:00:00Z'],
    ...[[], {}, [[]], { __proto__: { admin: true } }, 'P1-00231', 'K-118', 'press-1', 'p-1'],
  ),
  fc.string({ maxLength: 60 }),
  fc.integer(),
  fc.double(),
  fc.jsonValue({ maxDepth: 3 }),
);

const urlText = (value: unknown): string => {
  const text = typeof value === 'string' ? value : (JSON.stringify(value) ?? '');
  return encodeURIComponent(text.replaceAll(/\p{Surrogate}/gu, '?')).slice(0, 400);
};

/** So many are asked at a time, each over a connection that stays. */
const connections = 10;

let staged: Promise<{ on: Stage; routes: Route[]; agent: Agent }> | null = null;

async function opened(): Promise<{ on: Stage; routes: Route[]; agent: Agent }> {
  const unlimited = { readsPerMin: 1e9, actsPerMin: 1e9 };
  const on = await stage('/nonexistent', wholeScene, sceneHello, { limits: unlimited });
  const answer = await fetch(`${on.url}/api/v1/openapi.json`);
  const { paths } = (await answer.json()) as { paths: Record<string, Record<string, Described>> };
  const routes = Object.entries(paths).flatMap(([path, methods]) =>
    Object.entries(methods).map(([method, { parameters = [], requestBody }]) => ({
      method,
      path,
      query: parameters.filter((each) => each.in === 'query').map(({ name }) => name),
      body: Object.keys(requestBody?.content['application/json']?.schema.properties ?? {}),
    })),
  );
  return { on, routes, agent: new Agent({ keepAlive: true, maxSockets: connections }) };
}

/** Ends what the first seed has opened. */
export async function closeFuzzed(): Promise<void> {
  const open = await staged;
  staged = null;
  open?.agent.destroy();
  await open?.on.close();
}

interface Asked {
  method: string;
  /** With its query. */
  path: string;
  headers: Record<string, string>;
  body: string | null;
}

type Wild = { route: Route; id: unknown; query: unknown[]; body: unknown[] } & {
  type: string;
  isBroken: boolean;
};

const wildOf = (routes: Route[]): fc.Arbitrary<Wild> =>
  fc.record({
    route: fc.constantFrom(...routes),
    id: nasty,
    query: fc.array(nasty, { maxLength: 6 }),
    body: fc.array(fc.option(nasty), { minLength: 12, maxLength: 12 }),
    type: fc.constantFrom('application/json', 'application/json', 'text/plain', 'multipart/x', ''),
    isBroken: fc.integer({ min: 0, max: 20 }).map((chance) => chance === 0),
  });

function askedBy({ route, id, query, body, type, isBroken }: Wild): Asked {
  const named = route.query.map((name, i) => `${name}=${urlText(query[i] ?? '')}`).join('&');
  const path = route.path.replaceAll(/\{\w+\}/g, () => urlText(id) || 'x');
  const fields = JSON.stringify(
    Object.fromEntries(route.body.map((name, i) => [name, body[i] ?? undefined])),
  );
  return {
    method: route.method.toUpperCase(),
    path: `/api/v1${path}?${named}`,
    headers: type === '' ? {} : { 'content-type': type },
    body: route.method === 'post' ? (isBroken ? fields.slice(0, -2) : fields) : null,
  };
}

/** @throws AssertionError where the answer is a fault of ours, or hides one */
function ask(url: string, agent: Agent | false, asked: Asked): Promise<void> {
  const { method, path, headers, body } = asked;
  return new Promise((resolve, reject) => {
    const sent = request(`${url}${path}`, { method, headers, agent }, (answer) => {
      const { statusCode: status = 0, headers: said } = answer;
      const check = (given: string): void => {
        const told = `${method} ${path} ${body ?? ''} -> ${String(status)} ${given}`;
        assert(status < 500 || [502, 503, 504].includes(status), told);
        if (status < 400) return;
        assert.match(said['content-type'] ?? '', /problem\+json/, told);
        assert.equal((JSON.parse(given) as { status: number }).status, status, told);
        assert(!/\bat .*\.ts:\d|node_modules/.test(given), told);
      };
      // A stream goes on for ever: that it has begun is its answer.
      if (said['content-type']?.startsWith('text/event-stream') === true) {
        answer.destroy();
        resolve();
        return;
      }
      text(answer).then(check).then(resolve, reject);
    });
    sent.once('error', (error) => {
      // A connection that stays may be let go by the server in the moment in which it is used again.
      if (agent === false) reject(error);
      else ask(url, false, asked).then(resolve, reject);
    });
    sent.end(body ?? undefined);
  });
}

/**
 * A hundred requests that know the interface's names and nothing of its manners.
 *
 * None may be answered with a fault of ours: 500 is a bug, and a body that is no problem document hides one.
 */
export async function askWildly(seed: number): Promise<void> {
  staged ??= opened();
  const { on, routes, agent } = await staged;
  const asked = fc.sample(wildOf(routes), { numRuns: requestsASeed, seed }).map(askedBy);
  await Promise.all(asked.map((each) => ask(on.url, agent, each)));
}
