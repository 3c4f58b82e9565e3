import { execFile } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { readStoredZip, type ZipMember } from '@setwell/collector/export/stored-zip';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { StoredFile } from '@setwell/collector/verify/stored-file';
import { verifyBundle } from '@setwell/collector/verify/verify-bundle';
import { verifyPeriod } from '@setwell/collector/verify/verify-period';
import type { LoadSealed, LotFileDropped } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { PeriodFile } from '@setwell/shared-models/record/period';
import type { LotRetention } from '@setwell/shared-models/record/retention';
import { wordsOf } from '../fixtures/command.ts';
import { plantFile, startMs, usualFaceC } from '../fixtures/press-plant/works.ts';

// Loads are computed a few times first.
vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

const yearMs = 365.2425 * 86_400_000;
const hourMs = 3_600_000;

const main = fileURLToPath(new URL('../../collector/cli/main.ts', import.meta.url));
const program = [
  '--conditions=source',
  '--import',
  fileURLToPath(import.meta.resolve('tsx')),
  main,
];

let dataDir: string;
let clock: SteppedClock;
let collector: Collector;
let url: string;
let token: string;

beforeAll(async () => {
  dataDir = mkdtempSync(join(tmpdir(), 'retention-'));
  clock = new SteppedClock(startMs);
  await open();
  for (const [load, lot] of [
    ['P1-1', 'K-118'],
    ['P1-2', 'K-119'],
  ] as const) {
    await act('load-start', { station: 'press-1' }, { load, lot, recipe: 'shell-13ply' });
    press(2);
    await act('load-end', { station: 'press-1' }, { load });
    press(1);
  }
});
afterAll(async () => {
  await collector.stop();
  rmSync(dataDir, { recursive: true });
});

async function open(): Promise<void> {
  collector = createCollector({
    ...{ plantFile, dataDir, keyDir: join(dataDir, 'keys'), clock, judge: 'inline' },
    ...{ serve: {}, version: 'test', judgeEveryMs: 60_000 },
    clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
  });
  const started = await collector.start();
  url = String(started.url);
  token = readFileSync(String(started.tokenFile), 'utf8').trim();
}

const asked = (path: string, body: object | null = null) =>
  fetch(`${url}${path}`, {
    method: body === null ? 'GET' : 'POST',
    headers: { authorization: `Bearer ${token}` },
    ...(body === null ? {} : { body: JSON.stringify(body) }),
  });

async function act(kind: string, about: object, body: object) {
  const answer = await asked('/acts', { id: randomUUID(), kind, by: 'p-1', about, body });
  return { status: answer.status, ...((await answer.json()) as { field?: string; code?: string }) };
}

function press(minutes: number): void {
  for (let s = 0; s < minutes * 60; s += 15) {
    clock.advance(15_000);
    const payload = Buffer.from(JSON.stringify({ t: clock.nowMs(), v: usualFaceC(s / 60) }));
    collector.accept(
      ['p1-ul', 'p1-ll'].map((face) => ({
        topic: `plant/press-1/${face}`,
        ...{ payload, retained: false, queued: false, act: null },
      })),
    );
    collector.step();
  }
}

function entries<Body>(kind: string): Entry<Body>[] {
  return collector.ledger
    .entriesAfter(-1, 100_000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry<Body>)
    .filter((entry) => entry.kind === kind);
}

const hold = (lot: string, kind = 'legal-hold-set', body: object = { reason: 'a claim' }) =>
  act(kind, { lots: [lot] }, body);
const retention = async (lot: string) =>
  (await (await asked(`/records/${lot}/retention`)).json()) as LotRetention;
const documents = (load: string) => {
  const { input, readings, result } = entries<LoadSealed>('load-sealed').find(
    ({ about }) => about.load === load,
  )!.body;
  return [input, readings, result].map(({ sha256 }) => collector.ledger.blob(sha256) !== null);
};

/** The wall's clock goes on; the devices say so too; the collector has its look. */
function pass(ms: number): void {
  clock.wallStepMs(ms);
  press(0.25);
  clock.advance(hourMs);
}

async function bundle(lot: string) {
  const answer = await asked(`/records/${lot}/export`, { as: 'bundle', by: 'auditor' });
  expect(answer.status).toBe(200);
  const zip = Buffer.from(await answer.arrayBuffer());
  return verifyBundle(zip, { key: null, since: null, nowMs: clock.nowMs() }, releasedModels());
}

test('a legal hold is an entry with its reason; what cannot be is refused with its field', async () => {
  expect(await hold('K-119', 'legal-hold-set', { reason: ' ' })).toMatchObject({
    ...{ status: 422, field: 'body.reason' },
  });
  expect(await hold('K-999')).toMatchObject({ status: 422, field: 'about.lots' });
  expect(await hold('K-119', 'legal-hold-lifted')).toMatchObject({ status: 409 });
  expect(await hold('K-119')).toMatchObject({ status: 200 });
  expect(await hold('K-119')).toMatchObject({ status: 409, code: 'moved-on' });
  expect(await retention('K-119')).toMatchObject({
    ...{ untilMs: null, hold: { by: 'p-1', reason: 'a claim' }, dropped: null },
  });
  const { untilMs } = await retention('K-118');
  expect(untilMs! - startMs).toBeGreaterThan(10 * yearMs);
  expect(untilMs! - startMs).toBeLessThan(10 * yearMs + hourMs);
});

test('for ten years nothing goes; then the documents go that nobody holds, and an entry says so', () => {
  pass(9.9 * yearMs);
  expect(entries('lot-file-dropped')).toEqual([]);
  pass(0.2 * yearMs);
  const [dropped, ...more] = entries<LotFileDropped>('lot-file-dropped');
  expect(more).toEqual([]);
  expect(dropped).toMatchObject({
    ...{ by: 'collector', about: { lots: ['K-118'] } },
    body: { lot: 'K-118', because: 'age', years: 10, documents: 3 },
  });
  expect(documents('P1-1')).toEqual([false, false, false]);
  expect(documents('P1-2')).toEqual([true, true, true]);
  expect(entries('load-sealed')).toHaveLength(2);
});

const takes = (lot: string) => [
  ...['export', 'lot', lot, '--as', 'json', '--out', join(dataDir, 'out')],
  ...['--data', dataDir, '--keys', join(dataDir, 'keys')],
];
/** In a process of its own: it asks the collector that runs. */
async function taken(lot: string): Promise<string> {
  const { stdout } = await promisify(execFile)(process.execPath, [...program, ...takes(lot)]);
  return stdout;
}
const deleted =
  /\n3 documents were deleted after their time at 2036-\S+Z \(entry \d+\): .*cannot be computed again\n$/;

test('whoever takes a lot is told what holds its documents, or that they were deleted', async () => {
  expect(await taken('K-118')).toMatch(deleted);
  expect(await taken('K-119')).toMatch(
    /sha256 \w{64}\nlegal hold since 2026-\S+Z by p-1 \(entry \d+\): nothing of it is deleted; "a claim"\n$/,
  );
});

test('a bundle of it is still authentic and complete, and says why it cannot be computed again', async () => {
  const gone = await bundle('K-118');
  expect(gone).toMatchObject({ authentic: true, complete: true, recomputed: false });
  expect(gone.findings.map(({ code }) => code)).toEqual(['documents-gone']);
  expect((await bundle('K-119')).findings).toEqual([]);
});

test('a period’s bundle names what is held and what was deleted, for reading and when it is verified', async () => {
  const wanted = { fromMs: startMs, toMs: clock.nowMs(), by: 'auditor' };
  const answer = await asked('/records/period', wanted);
  const zip = Buffer.from(await answer.arrayBuffer());
  const file = join(dataDir, 'shown.zip');
  writeFileSync(file, zip);
  const members = readStoredZip(zip) as { members: ZipMember[] };
  const text = (name: string) => members.members.find((each) => each.name === name)!.bytes;
  const told = JSON.parse(text('period.json').toString()) as PeriodFile;
  expect(told.lots).toMatchObject([
    { lot: 'K-118', hold: null, dropped: { documents: 3 } },
    { lot: 'K-119', hold: { by: 'p-1', reason: 'a claim' }, dropped: null },
  ]);
  const readme = text('README.txt').toString();
  expect(readme).toMatch(/^ {2}K-118: 3 documents were deleted after their time at 2036-/m);
  expect(readme).toMatch(/^ {2}K-119: legal hold since 2026-\S+Z by p-1 \(entry \d+\)/m);

  const stored = new StoredFile(file, zip.length);
  const brought = { key: null, since: null, nowMs: clock.nowMs() };
  const verification = await verifyPeriod(stored, brought, releasedModels());
  stored.close();
  expect(verification).toMatchObject({ authentic: true, complete: true, recomputed: false });
  expect(verification.findings.map(({ code }) => code)).toEqual(['documents-gone']);
  expect(verification.lots).toMatchObject(
    told.lots.map(({ lot, hold, dropped }) => ({ lot, hold, dropped })),
  );
  expect(await wordsOf(['verify', file])).toMatch(
    /\n {2}deleted {5}lot K-118: 3 documents [^]*\n {2}held {8}lot K-119: legal hold since 2026-/,
  );
});

test('a hold that is lifted lets the documents go, once, whatever restarts', async () => {
  expect(await hold('K-119', 'legal-hold-lifted', { reason: 'settled' })).toMatchObject({
    status: 200,
  });
  await collector.stop();
  await open();
  pass(0);
  clock.advance(2 * hourMs);
  expect(entries('lot-file-dropped')).toHaveLength(2);
  expect(documents('P1-2')).toEqual([false, false, false]);
});

test('no document can be removed by whoever opens the file, unless an entry has said so', () => {
  const db = new Database(join(dataDir, 'ledger.db'));
  expect(() => db.exec('DELETE FROM blob')).toThrow('what is recorded is never removed');
  expect(() => db.exec('DELETE FROM dropped')).toThrow('what is recorded is never removed');
  db.close();
});

test('the same is said where no collector runs', async () => {
  await collector.stop();
  expect(await wordsOf(takes('K-118'))).toMatch(deleted);
  expect(await wordsOf(takes('K-119'))).toMatch(deleted);
});
