import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { openJournal } from '@setwell/collector/journal/journal';
import { backOffMs } from '@setwell/collector/uplink/back-off';
import type { InfluxAddress } from '@setwell/shared-models/plant/plant-schema';
import { CollectorProcess } from '../fixtures/collector-process.ts';
import { ScriptedServer } from '../fixtures/influx.ts';
import { freePort } from '../fixtures/free-port.ts';
import { until } from '../fixtures/until.ts';
import { reading, Uplinked } from '../fixtures/uplinked.ts';

const startMs = Date.UTC(2026, 2, 2, 6);
let server: ScriptedServer;
let plant: Uplinked;
let influx: InfluxAddress;

beforeEach(async () => {
  server = new ScriptedServer(await freePort());
  plant = new Uplinked(startMs);
  influx = { url: server.url, version: 1, database: 'plant' };
});

afterEach(async () => {
  await plant.end();
  await server.end();
});

function key(point: string, t: number): string {
  return `reading,point=${point},site=works,station=press-1 ${t}`;
}

/** Two points in one batch, one of a station and one of none, at so many seconds from `from`. */
function appendPairs(from: number, count: number): void {
  const pairs = Array.from({ length: count }, (_, i) => {
    const t = startMs + (from + i) * 1000;
    return [reading('p1-ul', t, from + i), reading('b1-plate', t, -from - i)];
  });
  plant.append(...pairs.flat());
}

test('a day without the server, then 400, then 503: each reading arrives, and once', async () => {
  plant.start(influx);
  const endMs = startMs + 86_400_000;
  let count = 0;
  let batches = 0;
  await plant.until(() => {
    appendPairs(count, 50);
    count += 50;
    batches += 1;
    return plant.clock.nowMs() >= endMs;
  }, 600_000);
  expect(await plant.metric('setwell_uplink_lag_batches')).toBe(batches);
  expect(await plant.metric('setwell_uplink_lag_seconds')).toBe(86_400);
  await plant.until(() => plant.state.fault?.includes('ECONNREFUSED') ?? false);

  const bad = new Set([3, 4, 1700, count - 1].map((i) => startMs + i * 1000));
  const isBad = (line: string) => line.includes('b1-plate') && bad.has(Number(line.split(' ')[2]));
  let answers = 0;
  server.reply = ({ lines }) => {
    answers += 1;
    if (answers > 5 && answers < 9) return { status: 503, body: 'later' };
    if (answers === 12) return { status: 429, headers: { 'retry-after': '90' } };
    return lines.some(isBad) ? { status: 400, body: 'malformed' } : { status: 204 };
  };
  await server.start();
  await plant.arrived(1000);

  const sent = Array.from({ length: count }, (_, i) => startMs + i * 1000);
  const expected = sent.flatMap((t) => [
    key('p1-ul', t),
    ...(bad.has(t) ? [] : [`reading,point=b1-plate,site=works ${t}`]),
  ]);
  expect([...server.points.keys()].sort()).toEqual(expected.sort());
  const refused = plant.refused();
  expect(refused.map(({ line }) => Number(line.split(' ')[2])).sort()).toEqual([...bad].sort());
  expect(new Set(refused.map(({ says }) => says))).toEqual(new Set(['400 malformed']));
  expect(await plant.metric('setwell_uplink_refused_total')).toBe(4);
  expect(await plant.metric('setwell_uplink_lines_total')).toBe(2 * count - 4);
  expect(await plant.metric('setwell_uplink_lag_seconds')).toBe(0);
  expect(plant.state.fault).toBeNull();
}, 30_000);

test('many small batches go in few requests of 5,000 lines at most', async () => {
  for (let i = 0; i < 1000; i++) appendPairs(6 * i, 6);
  await server.start();
  plant.start(influx);
  await plant.arrived();
  expect(server.points.size).toBe(12_000);
  expect(
    server.requests
      .map(({ lines }) => lines.length)
      .sort((a, b) => a - b)
      .at(-1),
  ).toBe(5000);
  expect(server.requests.length).toBeLessThanOrEqual(6);
}, 30_000);

test('a server that never answers is given up after 30 s and asked again', async () => {
  await server.start();
  server.reply = () => 'hang';
  appendPairs(0, 1);
  plant.start(influx);
  await plant.until(() => server.requests.length === 1, 0);
  plant.clock.advance(29_999);
  expect(plant.state.fault).toBeNull();
  plant.clock.advance(1);
  await until(() => plant.state.fault !== null);
  expect(plant.state.fault).toBe('no answer within 30 s');
  server.reply = () => ({ status: 204 });
  await plant.arrived();
  expect(server.points.size).toBe(2);
});

test('stopping while a server hangs does not wait for it', async () => {
  await server.start();
  server.reply = () => 'hang';
  appendPairs(0, 1);
  plant.start(influx);
  await until(() => server.requests.length === 1);
  await plant.stop();
  server.reply = () => ({ status: 204 });
  plant.start(influx);
  await plant.arrived();
  expect(server.points.size).toBe(2);
});

test('what has arrived is not sent again, unless the cursor is lost or the target another', async () => {
  await server.start();
  appendPairs(0, 10);
  plant.start(influx);
  await plant.arrived();
  await plant.stop();
  appendPairs(10, 1);
  plant.start(influx);
  await plant.arrived();
  expect(server.requests.map(({ lines }) => lines.length)).toEqual([20, 2]);
  await plant.stop();
  writeFileSync(join(plant.folder, 'uplink.db'), 'no database');
  for (const part of ['-wal', '-shm']) {
    rmSync(join(plant.folder, `uplink.db${part}`), { force: true });
  }
  plant.start(influx);
  await plant.arrived();
  expect(server.requests.at(-1)?.lines).toHaveLength(22);
  await plant.stop();
  plant.start({ url: server.url, version: 1, database: 'other' });
  await plant.arrived();
  expect(server.requests.at(-1)?.lines).toHaveLength(22);
  expect(server.points.size).toBe(22);
});

test('a wrong password or database is no fault of the lines: none is refused', async () => {
  await server.start();
  const replies = [401, 403, 404, 302, 500].map((status) => ({ status, body: `no ${status}` }));
  appendPairs(0, 1);
  const faults = new Set<string | null>();
  server.reply = () => replies.shift() ?? { status: 204 };
  plant.start(influx);
  await plant.until(() => {
    faults.add(plant.state.fault);
    return plant.state.seq === 1;
  }, 100);
  expect(faults).toContain('404 no 404');
  expect(server.points.size).toBe(2);
  expect(plant.refused()).toEqual([]);
}, 30_000);

test('a secret that cannot be read or sent is told by its file, never by its content', async () => {
  await server.start();
  appendPairs(0, 1);
  const tokenFile = 'token';
  plant.start({ url: server.url, version: 3, database: 'plant', tokenFile });
  await plant.until(() => plant.state.fault !== null);
  expect(plant.state.fault).toMatch(/ENOENT.*token/);
  writeFileSync(join(plant.folder, tokenFile), 'geheim\nzwei');
  await plant.until(() => plant.state.fault?.startsWith('token: expected') ?? false);
  writeFileSync(join(plant.folder, tokenFile), 'geheim\n');
  await plant.arrived();
  expect(server.requests[0]?.headers.authorization).toBe('Bearer geheim');
  expect(JSON.stringify([plant.said, plant.state, server.requests[0]?.url])).not.toContain(
    'geheim',
  );
});

test('killed in the middle and started again: no line is missing', async () => {
  await plant.end();
  plant = new Uplinked(startMs);
  const file = join(plant.folder, 'journal.db');
  const count = 30_000;
  const journal = openJournal(file);
  for (let from = 0; from < count; from += 1000) {
    const items = Array.from({ length: 1000 }, (_, i) =>
      reading('p1-ul', startMs + (from + i) * 1000, from + i),
    );
    journal.append({ receivedMs: startMs, items, rejects: [] });
  }
  journal.close();
  await server.start();
  const program = new URL('uplinking.ts', import.meta.url);
  for (const killAt of [1, 3]) {
    const before = server.requests.length;
    const reached = new Promise<void>((resolve) => {
      server.reply = () => {
        if (server.requests.length - before < killAt) return { status: 204 };
        resolve();
        return 'hang';
      };
    });
    const child = await CollectorProcess.startProgram(program, [plant.folder, server.url]);
    await reached;
    await child.end('SIGKILL');
  }
  expect(server.points.size).toBeLessThan(count);
  server.reply = () => ({ status: 204 });
  const last = await CollectorProcess.startProgram(program, [plant.folder, server.url]);
  await until(() => server.points.size === count);
  await last.end();
}, 60_000);

test('waits grow to a minute, part of each at random, and heed what a server asks for', () => {
  expect([1, 2, 3, 7, 1000].map((failures) => backOffMs(failures, 0, null))).toEqual([
    500, 1000, 2000, 30_000, 30_000,
  ]);
  expect(backOffMs(1000, 0.999, null)).toBeLessThanOrEqual(60_000);
  expect(backOffMs(1, 0.5, 90)).toBe(90_000);
  expect(backOffMs(1, 0.5, 1e9)).toBe(600_000);
});
