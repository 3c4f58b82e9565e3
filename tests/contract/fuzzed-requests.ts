import assert from 'node:assert/strict';
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

let staged: Promise<{ on: Stage; routes: Route[] }> | null = null;

async function opened(): Promise<{ on: Stage; routes: Route[] }> {
  const unlimited = { readsPerMin: 1e9, actsPerMin: 1e9 };
  const on = await stage('/nonexistent', wholeScene, sceneHello, { limits: unlimited });
  const answer = await fetch(`${on.url}/api/v1/openapi.json`);
  const { paths } = (await answer.json()) as { paths: Record<string, Record<string, Described>> };
  const routes = Object.entries(paths).flatMap(([path, methods]) =>
    Object.entries(methods)
      .filter(() => path !== '/stream')
      .map(([method, { parameters = [], requestBody }]) => ({
        method,
        path,
        query: parameters.filter((each) => each.in === 'query').map(({ name }) => name),
        body: Object.keys(requestBody?.content['application/json']?.schema.properties ?? {}),
      })),
  );
  return { on, routes };
}

/** Ends what the first seed has opened. */
export async function closeFuzzed(): Promise<void> {
  const open = await staged;
  staged = null;
  await open?.on.close();
}

/**
 * A hundred requests that know the interface's names and nothing of its manners.
 *
 * None may be answered with a fault of ours: 500 is a bug, and a body that is no problem document hides one.
 */
export async function askWildly(seed: number): Promise<void> {
  staged ??= opened();
  const { on, routes } = await staged;
  const wild = fc.record({
    route: fc.constantFrom(...routes),
    id: nasty,
    query: fc.array(nasty, { maxLength: 6 }),
    body: fc.array(fc.option(nasty), { minLength: 12, maxLength: 12 }),
    type: fc.constantFrom('application/json', 'application/json', 'text/plain', 'multipart/x', ''),
    broken: fc.integer({ min: 0, max: 20 }),
  });
  for (const asked of fc.sample(wild, { numRuns: requestsASeed, seed })) {
    const { route, type, broken } = asked;
    const query = route.query
      .map((name, i) => `${name}=${urlText(asked.query[i] ?? '')}`)
      .join('&');
    const path = route.path.replaceAll(/\{\w+\}/g, () => urlText(asked.id) || 'x');
    const fields = Object.fromEntries(
      route.body.map((name, i) => [name, asked.body[i] ?? undefined]),
    );
    const text = JSON.stringify(fields);
    const post = route.method === 'post';
    const answer = await fetch(`${on.url}/api/v1${path}?${query}`, {
      method: route.method.toUpperCase(),
      headers: type === '' ? {} : { 'content-type': type },
      ...(post ? { body: broken === 0 ? text.slice(0, -2) : text } : {}),
    });
    const body = await answer.text();
    const told = `${route.method} ${path} ${query} ${text} -> ${String(answer.status)} ${body}`;
    assert(answer.status < 500 || answer.status === 502 || answer.status === 503, told);
    if (!answer.ok) {
      assert.match(answer.headers.get('content-type') ?? '', /problem\+json/, told);
      assert.equal((JSON.parse(body) as { status: number }).status, answer.status, told);
      assert(!/\bat .*\.ts:\d|node_modules/.test(body), told);
    }
  }
}
