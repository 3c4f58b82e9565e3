import { once } from 'node:events';
import { writeFileSync } from 'node:fs';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, onTestFinished, test } from 'vitest';
import { readingSeries } from '@setwell/collector/serve/reading-series';
import type { ReadingSeries } from '@setwell/shared-models/api/collector';
import type { InfluxAddress } from '@setwell/shared-models/plant/plant-schema';
import { Influxd } from '../fixtures/influx.ts';
import { freePort } from '../fixtures/free-port.ts';
import { reading, Uplinked } from '../fixtures/uplinked.ts';

const startMs = Date.UTC(2026, 2, 2, 6);
const hourMs = 3_600_000;
const point = 'p1-ul';
/** Ten seconds a step, from before what is kept until after it; on no round second. */
const asked = { point, fromMs: startMs + hourMs + 1_800_123, toMs: startMs + 9_000_123 };
let plant: Uplinked;

beforeEach(() => {
  plant = new Uplinked(startMs + 3 * hourMs);
  // Three hours at 2 Hz, with a silence of ten minutes and such as no chart counts.
  for (let s = 0; s < 3 * 3600; s += 600) {
    const t = (i: number) => startMs + s * 1000 + i * 500;
    const values = Array.from({ length: 1200 }, (_, i) => reading(point, t(i), (i * 7) % 100));
    if (s !== 6000) plant.append(...values);
  }
  plant.append(
    { ...reading(point, startMs + 1.7 * hourMs + 7, 999), quality: 'doubtful' },
    { ...reading(point, startMs + 1.7 * hourMs + 9, 999), ahead: true },
    { ...reading(point, startMs + 1.7 * hourMs + 11, 55), quality: 'late' },
    reading('b1-plate', startMs + 1.7 * hourMs, -999),
  );
});

afterEach(() => plant.end());

const series = (influx: InfluxAddress | null, points = 360) =>
  readingSeries(plant.sources(influx), { ...asked, points });

/** What a step of readings says, worked out here from those of the journal that charts count. */
function expectedSteps(stepMs: number): ReadingSeries['steps'] {
  const { journal } = plant.sources(null);
  const counted = journal
    .readings(point, asked.fromMs, asked.toMs)
    .readings.filter(({ quality, ahead }) => !ahead && quality !== 'doubtful');
  const count = Math.floor((asked.toMs - asked.fromMs) / stepMs) + 1;
  return Array.from({ length: count }, (_, place) => {
    const t = asked.fromMs + place * stepMs;
    const own = counted.filter((each) => each.t >= t && each.t < t + stepMs).map(({ v }) => v);
    if (own.length === 0) return { t, min: null, max: null, mean: null };
    const mean = own.reduce((sum, v) => sum + v, 0) / own.length;
    return { t, min: Math.min(...own), max: Math.max(...own), mean };
  });
}

test('what the journal has let go is read back from InfluxDB 1.x, step by step as it was', async () => {
  const server = await Influxd.start(await freePort(), await freePort());
  onTestFinished(() => server.end());
  await server.query('CREATE DATABASE plant');
  const influx: InfluxAddress = { url: `${server.url}/`, version: 1, database: 'plant' };
  plant.start(influx);
  await plant.arrived();
  const before = expectedSteps(10_000);
  expect(before).toHaveLength(361);
  plant.drop(startMs + 2 * hourMs);
  const { steps, older } = await series(influx);
  // 06:00 + 2 h is inside a step, which comes whole from the long history.
  expect(older).toEqual({
    beforeMs: asked.fromMs + 1_800_000,
    from: 'long-history',
    because: null,
  });
  expect(steps.map(({ t, min, max }) => [t, min, max])).toEqual(
    before.map(({ t, min, max }) => [t, min, max]),
  );
  steps.forEach(({ mean }, i) => {
    if (mean === null) expect(before[i]!.mean).toBeNull();
    else expect(mean).toBeCloseTo(before[i]!.mean!, 9);
  });
  // A database that does not hold that time: what minutes know is better than an empty chart.
  await server.query('CREATE DATABASE empty');
  const other = await series({ ...influx, database: 'empty' });
  expect(other.older).toMatchObject({
    from: 'minutes',
    because: 'it has no readings of that time',
  });
  expect((await series({ ...influx, database: 'none' })).older).toMatchObject({
    from: 'minutes',
    because: 'database not found: none',
  });
});

test('without a long history each fine step says what is known of its minute', async () => {
  const whole = await series(null);
  expect(whole.older).toBeNull();
  plant.drop(startMs + 2 * hourMs);
  const { steps, older } = await series(null);
  expect(older).toEqual({ beforeMs: asked.fromMs + 1_800_000, from: 'minutes', because: null });
  const [first] = steps;
  const of = whole.steps.slice(0, 5).filter(({ min }) => min !== null);
  expect(first!.min).toBeLessThanOrEqual(Math.min(...of.map(({ min }) => min!)));
  expect(first!.max).toBeGreaterThanOrEqual(Math.max(...of.map(({ max }) => max!)));
  // From where raw readings are kept nothing has changed.
  expect(steps.slice(180)).toEqual(whole.steps.slice(180));
  // Of the ten minutes of silence only the one with the late reading says anything.
  const [fromMs, toMs] = [startMs + 6_000_000, startMs + 6_590_000];
  const heard = steps.filter(({ t, min }) => t > fromMs && t < toMs && min !== null);
  expect(new Set(heard.map(({ min, max }) => `${min} ${max}`))).toEqual(new Set(['55 55']));
  expect(heard).toHaveLength(7);
  // Coarse steps never needed them.
  expect((await series(null, 30)).older).toBeNull();
});

describe('a server that does not help', () => {
  const secret = 'geheim-4711';
  type Reply = (request: IncomingMessage, response: ServerResponse) => void;
  const asking: IncomingMessage[] = [];

  async function serve(reply: Reply): Promise<InfluxAddress> {
    asking.length = 0;
    const server = createServer((request, response) => {
      asking.push(request);
      reply(request, response);
    });
    server.listen(0, '127.0.0.1');
    await once(server, 'listening');
    onTestFinished(() => {
      server.closeAllConnections();
      server.close();
    });
    const { port } = server.address() as AddressInfo;
    writeFileSync(join(plant.folder, 'token'), `${secret}\n`);
    const url = `http://127.0.0.1:${port}`;
    return { url, version: 2, org: 'works', bucket: 'plant', tokenFile: 'token' };
  }

  const says = (status: number, body: string): Reply => {
    return (_request, response) => void response.writeHead(status).end(body);
  };

  test.each<[string, Reply, string | RegExp]>([
    ['refuses us', says(401, '{"error":"authorization failed"}'), '401 {"error":"auth'],
    ['knows no such bucket', says(404, 'no dbrp mapping found'), '404 no dbrp mapping found'],
    ['sends us elsewhere', says(302, ''), '302 Found'],
    ['answers with a page', says(200, '<html>hello</html>'), /none of the kind/],
    [
      'answers in another shape',
      says(200, '{"results":[{"series":[{"values":[[1]]}]}]}'),
      /none of/,
    ],
    ['complains in its answer', says(200, '{"results":[{"error":"timeout"}]}'), 'timeout'],
    ['goes on for ever', (_, response) => pour(response), /none of the kind/],
    ['hangs up', (request) => void request.socket.destroy(), /./],
  ])('%s: minutes are drawn, and it says why', async (_name, reply, because) => {
    const influx = await serve(reply);
    plant.drop(startMs + 2 * hourMs);
    const answer = await series(influx);
    expect(answer.older?.from).toBe('minutes');
    expect(answer.older?.because).toMatch(because);
    expect(answer.steps[0]!.min).not.toBeNull();
    expect(JSON.stringify(answer)).not.toContain(secret);
    expect(asking[0]!.headers.authorization).toBe(`Token ${secret}`);
    expect(asking[0]!.url).not.toContain(secret);
  });

  test('more charts at once than it is asked for are drawn from minutes', async () => {
    const waiting: ServerResponse[] = [];
    const influx = await serve((_request, response) => {
      waiting.push(response);
      if (waiting.length === 4) for (const each of waiting) each.end('{"results":[{}]}');
    });
    plant.drop(startMs + 2 * hourMs);
    const sources = plant.sources(influx);
    const answers = await Promise.all(
      Array.from({ length: 5 }, () => readingSeries(sources, { ...asked, points: 360 })),
    );
    const busy = answers.filter(({ older }) => older?.because?.includes('waiting'));
    expect(busy).toHaveLength(1);
    expect(waiting).toHaveLength(4);
  });
});

/** An answer that no reader should take to its end. */
function pour(response: ServerResponse): void {
  response.writeHead(200);
  const more = () => {
    if (!response.destroyed && response.write('x'.repeat(65_536))) setImmediate(more);
  };
  response.on('drain', more);
  more();
}
