import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { createCollector } from '@setwell/collector/collector';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import { afterEach, beforeEach, expect, onTestFinished, test } from 'vitest';
import type { InfluxAddress } from '@setwell/shared-models/plant/plant-schema';
import { Influxd, ScriptedServer, VictoriaMetrics } from '../fixtures/influx.ts';
import { freePort } from '../fixtures/free-port.ts';
import { until } from '../fixtures/until.ts';
import { reading, Uplinked } from '../fixtures/uplinked.ts';

/** A Monday: InfluxDB 1.x keeps a week of a database in one shard. */
const startMs = Date.UTC(2026, 2, 2, 6);
const weekMs = 7 * 86_400_000;
let plant: Uplinked;

beforeEach(() => {
  plant = new Uplinked(startMs);
});

afterEach(() => plant.end());

async function influxd(): Promise<{ server: Influxd; influx: InfluxAddress }> {
  const server = await Influxd.start(await freePort(), await freePort());
  onTestFinished(() => server.end());
  await server.query('CREATE DATABASE plant');
  return { server, influx: { url: server.url, version: 1, database: 'plant' } };
}

const written: [name: string, more: object, url: string, authorization: string][] = [
  [
    '1.x',
    { version: 1, database: 'plant', retentionPolicy: 'year', username: 'me', passwordFile: 's' },
    '/write?db=plant&rp=year&precision=ms',
    `Basic ${Buffer.from('me:geheim').toString('base64')}`,
  ],
  [
    '2.x',
    { version: 2, org: 'works', bucket: 'plant', tokenFile: 's' },
    '/api/v2/write?org=works&bucket=plant&precision=ms',
    'Token geheim',
  ],
  [
    '3',
    { version: 3, database: 'plant', tokenFile: 's' },
    '/api/v3/write_lp?db=plant&precision=millisecond&accept_partial=true',
    'Bearer geheim',
  ],
];

test.each(written)(
  'what %s is sent: tags sorted, milliseconds, gzip',
  async (_, more, url, who) => {
    const server = await new ScriptedServer(await freePort()).start();
    onTestFinished(() => server.end());
    writeFileSync(join(plant.folder, 's'), 'geheim\n');
    plant.append(reading('p1-ul', startMs, 135.2), {
      ...reading('b1-plate', startMs, -1),
      quality: 'doubtful',
      stamped: true,
    });
    plant.start({ url: server.url, ...more } as InfluxAddress);
    await plant.arrived();
    const [request] = server.requests;
    expect(request?.url).toBe(url);
    expect(request?.headers).toMatchObject({ authorization: who, 'content-encoding': 'gzip' });
    expect(request?.lines).toEqual([
      `reading,point=p1-ul,site=works,station=press-1 ahead=F,quality="good",stamped=F,value=135.2 ${startMs}`,
      `reading,point=b1-plate,site=works ahead=F,quality="doubtful",stamped=T,value=-1 ${startMs}`,
    ]);
  },
);

test('InfluxDB 1.x holds each reading once, however often it is sent', async () => {
  const { server, influx } = await influxd();
  const count = 12_000;
  for (let from = 0; from < count; from += 1000) {
    plant.append(
      ...Array.from({ length: 1000 }, (_, i) => reading('p1-ul', startMs + from + i, from + i)),
    );
  }
  const stored = () =>
    server.query("SELECT count(value), sum(value) FROM reading WHERE station = 'press-1'");
  plant.start(influx);
  await plant.arrived();
  expect(await stored()).toEqual([[0, count, (count * (count - 1)) / 2]]);
  await plant.stop();
  for (const part of ['', '-wal', '-shm']) {
    rmSync(join(plant.folder, `uplink.db${part}`), { force: true });
  }
  plant.start(influx);
  await plant.arrived();
  expect(await plant.metric('setwell_uplink_lines_total')).toBe(count);
  expect(await stored()).toEqual([[0, count, (count * (count - 1)) / 2]]);
}, 30_000);

test('InfluxDB 1.x refuses another type: these lines are kept with its words, the rest arrives', async () => {
  const { server, influx } = await influxd();
  const earlier = startMs - weekMs;
  const foreign = `reading,point=x value=1i ${earlier}`;
  await fetch(`${server.url}/write?db=plant&precision=ms`, { method: 'POST', body: foreign });
  plant.append(
    ...Array.from({ length: 500 }, (_, i) =>
      reading('p1-ul', (i % 100 === 7 ? earlier : startMs) + i, i),
    ),
  );
  plant.start(influx);
  await plant.arrived();
  expect(await server.query("SELECT count(value) FROM reading WHERE point = 'p1-ul'")).toEqual([
    [0, 495],
  ]);
  const refused = plant.refused();
  expect(refused).toHaveLength(5);
  expect(refused[0]?.says).toMatch(/^400 .*field type conflict/);
}, 30_000);

test('InfluxDB 1.x drops what is older than it keeps: known in one request, and gone on from', async () => {
  const { server, influx } = await influxd();
  await server.query('CREATE RETENTION POLICY short ON plant DURATION 1h REPLICATION 1 DEFAULT');
  plant.append(...Array.from({ length: 1000 }, (_, i) => reading('p1-ul', startMs + i, i)));
  const nowMs = Date.now();
  plant.append(reading('p1-ul', nowMs, 1));
  plant.start(influx);
  await plant.arrived();
  expect(await server.query('SELECT value FROM reading')).toEqual([[nowMs, 1]]);
  const refused = plant.refused();
  expect(refused).toHaveLength(1000);
  expect(refused[0]?.says).toMatch(/beyond retention policy/);
}, 30_000);

test('a server of the 2.x write address holds each reading with its tags', async () => {
  const server = await VictoriaMetrics.start(await freePort());
  onTestFinished(() => server.end());
  const count = 2000;
  plant.append(...Array.from({ length: 1000 }, (_, i) => reading('p1-ul', startMs + i, i)));
  plant.append(...Array.from({ length: 1000 }, (_, i) => reading('p1-ul', startMs + 1000 + i, i)));
  plant.start({ url: server.url, version: 2, org: 'works', bucket: 'plant' });
  await plant.arrived();
  const series = await server.samples('reading_value');
  expect(series.flatMap(({ timestamps }) => timestamps).sort((a, b) => a - b)).toEqual(
    Array.from({ length: count }, (_, i) => startMs + i),
  );
  expect(series[0]?.metric).toMatchObject({ point: 'p1-ul', site: 'works', station: 'press-1' });
}, 30_000);

test('a collector whose plant names a long history sends there, tells its lag, and stops', async () => {
  const server = await new ScriptedServer(await freePort()).start();
  onTestFinished(() => server.end());
  const good = readFileSync(new URL('../fixtures/plant/plant.yaml', import.meta.url), 'utf8');
  const plantFile = join(plant.folder, 'plant.yaml');
  const uplink = `uplink: { influx: { url: '${server.url}', version: 1, database: plant } }`;
  writeFileSync(plantFile, `${good}${uplink}\n`);
  const collector = createCollector({
    plantFile,
    dataDir: join(plant.folder, 'data'),
    clock: new SystemClock(wallClock),
    clockSetting: wallClock,
    judge: 'inline',
    version: 'test',
  });
  onTestFinished(() => collector.stop());
  await collector.start();
  const t = Date.now();
  const payload = Buffer.from(JSON.stringify({ t, v: 135.2 }));
  const arrival = {
    topic: 'plant/press-1/p1-ul',
    payload,
    retained: false,
    queued: false,
    act: null,
  };
  collector.accept([arrival]);
  await until(() => server.points.size === 1);
  expect([...server.points.keys()]).toEqual([
    `reading,point=p1-ul,site=demo-works,station=press-1 ${t}`,
  ]);
  await until(async () =>
    (await collector.metrics.registry.metrics()).includes('setwell_uplink_lag_batches 0'),
  );
  server.reply = () => 'hang';
  collector.accept([{ ...arrival, payload: Buffer.from(JSON.stringify({ t: t + 1, v: 1 })) }]);
  await until(() => server.requests.length === 2);
  expect(await collector.metrics.registry.metrics()).toContain('setwell_uplink_lag_batches 1');
  await collector.stop();
}, 30_000);
