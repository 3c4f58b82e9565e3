import { closeSync, mkdtempSync, openSync, readFileSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { spaceLimits } from '@setwell/collector/journal/free-space';
import { callsOfConditions, conditionsOf } from '@setwell/collector/serve/health/conditions';
import { upkeepConditions } from '@setwell/collector/serve/health/upkeep-conditions';
import { LedgerFold } from '@setwell/collector/judge/ledger-fold';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import type { HealthNow } from '@setwell/shared-models/api/health';
import type { CallRaised, ClockStepped, JournalClosed } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { plantFile, startMs } from '../fixtures/press-plant/works.ts';

let dataDir: string;
let clock: SteppedClock;
let collector: Collector;
let address: { url: string | null; tokenFile: string | null };

async function start(): Promise<void> {
  collector = createCollector({
    ...{ plantFile, dataDir, clock, judge: 'inline', version: 'test', serve: {} },
    clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
  });
  address = await collector.start();
}

beforeEach(async () => {
  dataDir = mkdtempSync(join(tmpdir(), 'health-'));
  clock = new SteppedClock(startMs);
  await start();
});

afterEach(async () => {
  await collector.stop();
  rmSync(dataDir, { recursive: true });
});

function say(point: string, value: object, more = {}): void {
  const payload = Buffer.from(JSON.stringify(value));
  const handed = { retained: false, queued: false, act: null, ...more };
  collector.accept([{ topic: `plant/press-1/${point}`, payload, ...handed }]);
}

async function health(): Promise<HealthNow> {
  const token = readFileSync(address.tokenFile ?? '', 'utf8').trim();
  const headers = { authorization: `Bearer ${token}` };
  const response = await fetch(`${address.url}/health/now`, { headers });
  expect(response.status).toBe(200);
  return (await response.json()) as HealthNow;
}

function entries(kind: string): Entry[] {
  return collector.ledger
    .entriesAfter(-1, 10_000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry)
    .filter((entry) => entry.kind === kind);
}

test('a point’s health: clock, gaps, numbers that are missing, QoS 0, and who contradicts', async () => {
  const own = { atMostOnce: true, client: 'gateway-2' };
  for (const [s, v, seq] of [
    [0, 138, 1],
    [1, 138, 2],
    [90, 139, 7],
  ] as const) {
    clock.advance(startMs + s * 1000 - clock.nowMs());
    say('p1-ul', { t: clock.nowMs() + 4000, v, seq }, own);
  }
  say('p1-ul', { t: clock.nowMs() + 4000, v: 12, seq: 7 }, own);
  const [ul, ll] = (await health()).points;
  expect(ul).toMatchObject({
    point: 'p1-ul',
    offsetMs: 4000,
    gaps: [{ fromMs: startMs + 5000, toMs: startMs + 94_000 }],
    sequence: { missing: 4, holes: 1, restarts: 0 },
    atMostOnce: 4,
    conflicts: [{ client: 'gateway-2', count: 1 }],
  });
  expect(ll).toMatchObject({ point: 'p1-ll', offsetMs: null, gaps: [], atMostOnce: 0 });
  const metrics = await collector.metrics.registry.metrics();
  expect(metrics).toMatch(/setwell_at_most_once_messages 4\n/);
  expect(metrics).toMatch(/setwell_sequence_missing 4\n/);
});

test('a clock that is set is told once, by how much, and seen on the page', async () => {
  clock.advance(10_000);
  clock.wallStepMs(3_600_000);
  clock.advance(10_000);
  clock.wallStepMs(-1500);
  clock.advance(10_000);
  const steps = entries('clock-stepped').map(({ body }) => body as ClockStepped);
  expect(steps.map(({ foundMs, expectedMs, when }) => [foundMs - expectedMs, when])).toEqual([
    [3_600_000, 'running'],
  ]);
  expect((await health()).clock.steps).toMatchObject([{ byMs: 3_600_000 }]);
});

test('a clock that was set back while nobody was there is told at the start', async () => {
  clock.advance(3_600_000);
  say('p1-ul', { t: clock.nowMs(), v: 138 });
  await collector.stop();
  clock.wallStepMs(-3_000_000);
  await start();
  expect(entries('clock-stepped')).toMatchObject([
    { body: { when: 'start', expectedMs: startMs + 3_600_000, foundMs: startMs + 600_000 } },
  ]);
});

test('a topic that floods calls somebody once, loses nothing, and is let go when it stops', () => {
  for (let s = 0; s < 70; s += 1) {
    for (let i = 0; i < 25; i += 1) say('p1-ul', { t: clock.nowMs() + i, v: i });
    clock.advance(1000);
  }
  expect(entries('call-raised')).toMatchObject([
    {
      body: { kind: 'collector', values: { because: 'topic-fast', topic: 'plant/press-1/p1-ul' } },
    },
  ]);
  clock.advance(180_000);
  expect(entries('call-cleared')).toMatchObject([{ body: { because: 'recovered' } }]);
  expect(collector.journal.readings('p1-ul', 0, 5e12).readings).toHaveLength(70 * 25);
});

/** Overwrites the whole page that holds a text: the disk gave up there. */
function damagePageOf(text: string): void {
  const path = join(dataDir, 'journal.db');
  const at = readFileSync(path).indexOf(text);
  expect(at).toBeGreaterThan(0);
  const file = openSync(path, 'r+');
  writeSync(file, Buffer.alloc(4096, 0xa5), 0, 4096, at - (at % 4096));
  closeSync(file);
}

test('batches on a page that is damaged are named, call somebody, and stop nothing', async () => {
  for (let i = 0; i < 240; i += 1) {
    const rows = Array.from({ length: 10 }, (_, s) => ({
      t: clock.nowMs() - (9 - s) * 1000,
      v: 20 + i + s / 8,
    }));
    say('p1-ul', rows);
    clock.advance(10_000);
  }
  await collector.stop();
  damagePageOf(',219.125]');
  await start();
  clock.advance(3_600_000);
  say('p1-ul', { t: clock.nowMs(), v: 300 });
  clock.advance(60_000);
  const { unreadable } = (await health()).journal;
  expect(unreadable.length).toBeGreaterThan(5);
  const damaged = { because: 'journal-damaged', n: unreadable.length, seq: unreadable[0] };
  const called = entries('call-raised').map(({ body }) => (body as CallRaised).values);
  expect(called).toContainEqual({ ...damaged, subject: '' });
  const closed = entries('journal-closed').map(({ body }) => body as JournalClosed);
  expect(closed.map(({ toSeq, readings }) => [toSeq, readings])).toEqual([
    [120, 1200],
    [240, (120 - unreadable.length) * 10],
  ]);
  expect((await health()).points[0]).toMatchObject({ last: { v: 300 } });
  await collector.stop();
  await start();
  expect((await health()).journal.unreadable).toEqual(unreadable);
});

const well = {
  nowMs: startMs,
  broker: { connected: true, sinceMs: startMs, url: '', faults: [] },
  clock: { synchronised: null, steps: [] },
  disk: { used: 0.5, ...spaceLimits },
  journal: { head: 1, unreadable: [] },
  judge: { behindMs: 0 },
  targets: [],
};
const quiet = { fast: [], offsetsMs: [] };

test.each([
  ['all well', {}, quiet, []],
  ['a disk at 85 %', { disk: { ...well.disk, used: 0.85 } }, quiet, ['disk']],
  ['a disk at 97 %', { disk: { ...well.disk, used: 0.97 } }, quiet, ['disk-full']],
  [
    'no time server',
    { clock: { synchronised: false, steps: [] } },
    quiet,
    ['clock-unsynchronised'],
  ],
  ['most devices ahead', {}, { fast: [], offsetsMs: [60_000, 0, 61_000, 60_500] }, ['clock-off']],
  ['one device ahead', {}, { fast: [], offsetsMs: [60_000, 0, 100, -300] }, []],
  ['a slow gateway', {}, { fast: [], offsetsMs: [-60_000, -70_000, -60_000] }, []],
  [
    'a long history away for 16 minutes',
    { targets: [{ target: 'x', lagBatches: 9, lagSeconds: 960, fault: '503' }] },
    quiet,
    ['uplink-behind'],
  ],
  [
    'a broker that grants less',
    { broker: { ...well.broker, faults: ['plant/# at QoS 0'] } },
    quiet,
    ['broker-fault'],
  ],
  [
    'a journal with a batch that cannot be read',
    { journal: { head: 9, unreadable: [7] } },
    quiet,
    ['journal-damaged'],
  ],
  ['a judge that hangs', { judge: { behindMs: 90_000 } }, quiet, ['judge-behind']],
])('%s asks for %j', (_name, changed, topics, codes) => {
  const conditions = conditionsOf({ ...well, ...changed }, topics, 1);
  expect(conditions.map(({ code }) => code)).toEqual(codes);
});

const dayMs = 86_400_000;
const kept = {
  recording: { newestMs: startMs, heard: 3, points: 3, because: null },
  disk: { endsMs: null, isKnown: true },
  backup: { madeMs: startMs, triedMs: startMs },
  certificates: [],
  pages: { version: '1', walls: 1, unseen: [] },
  versions: [],
};

test.each([
  ['all well', {}, 0, []],
  [
    'a broker that is away',
    { recording: { ...kept.recording, because: 'broker' } },
    0,
    ['not-recording'],
  ],
  [
    'a full disk, which has its own call',
    { recording: { ...kept.recording, because: 'disk' } },
    0,
    [],
  ],
  [
    'a disk for 29 days',
    { disk: { endsMs: startMs + 29 * dayMs, isKnown: true } },
    0,
    ['disk-ends'],
  ],
  ['a disk for 31 days', { disk: { endsMs: startMs + 31 * dayMs, isKnown: true } }, 0, []],
  ['a copy of a week', {}, 7, []],
  ['a copy of eight days', {}, 8, ['backup-old']],
  ['no copy of a young log', { backup: { madeMs: null, triedMs: null } }, 7, []],
  [
    'no copy of an old log',
    { backup: { madeMs: null, triedMs: null } },
    100,
    ['backup-old', 'restore-untried'],
  ],
  [
    'a certificate for 29 days',
    { certificates: [{ what: 'pages', endsMs: startMs + 29 * dayMs }] },
    0,
    ['certificate-ends'],
  ],
  [
    'a certificate that cannot be read',
    { certificates: [{ what: 'broker', endsMs: null }] },
    0,
    ['certificate-unread'],
  ],
  [
    'two walls unseen',
    {
      pages: {
        ...kept.pages,
        walls: 2,
        unseen: [
          { id: 'd-1', name: 'A', minutes: 3 },
          { id: 'd-2', name: 'B', minutes: 3 },
        ],
      },
    },
    0,
    ['wall-unseen', 'wall-unseen'],
  ],
  ['pages of another version', { pages: { ...kept.pages, version: '2' } }, 0, ['version-mixed']],
] as const)('of the upkeep %s asks for somebody where it must', (_name, changed, days, codes) => {
  const upkeep = { ...kept, ...changed } as unknown as HealthNow['upkeep'];
  const now = { upkeep, nowMs: startMs + days * dayMs, disk: well.disk };
  const began = { beganMs: startMs, isDemo: false };
  expect(upkeepConditions(now, '1', began).map(({ code }) => code)).toEqual(codes);
  const demo = upkeepConditions(now, '1', { ...began, isDemo: true });
  expect(demo.filter(({ code }) => code === 'backup-old' || code === 'restore-untried')).toEqual(
    [],
  );
});

test('a condition calls once while it lasts, and anew when it comes back', () => {
  const fold = new LedgerFold();
  let n = 0;
  const hear = (codes: 'disk'[], nowMs: number) => {
    const conditions = codes.map((code) => ({ code, subject: '', values: { percent: 86 } }));
    const proposals = callsOfConditions(conditions, fold, nowMs);
    for (const proposal of proposals) {
      n += 1;
      fold.take({ v: 1, log: '', n, at: nowMs, cites: [], ...proposal });
    }
    return proposals.map(({ kind }) => kind);
  };
  expect(hear(['disk'], 1)).toEqual(['call-raised']);
  expect(hear(['disk'], 2)).toEqual([]);
  expect(hear([], 3)).toEqual(['call-cleared']);
  expect(hear(['disk'], 4)).toEqual(['call-raised']);
  expect(fold.calls.size).toBe(1);
});
