import {
  appendFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
} from 'node:fs';
import { writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it, onTestFinished, vi } from 'vitest';
import { createCollector } from '@setwell/collector/collector';
import type { Proposal } from '@setwell/collector/ledger/shape';
import { readWholeLedger } from '@setwell/collector/ledger/whole-ledger';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { verifyBundle } from '@setwell/collector/verify/verify-bundle';
import type { LogContinued } from '@setwell/shared-models/record/bodies';
import { answerOf, refusalOf, textFile } from '../fixtures/command.ts';
import { openWorks, plantFile, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

// A load is computed a few times first.
vi.setConfig({ testTimeout: 60_000 });

let works: Works;
let folder: string;
let backup: string;

beforeEach(() => {
  works = openWorks();
  folder = mkdtempSync(join(tmpdir(), 'setwell-backup-'));
  backup = join(folder, 'backup');
  works.event('load-start', { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' });
  works.press(2, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  works.press(3, usualFaceC);
});
afterEach(async () => {
  await works.end();
  rmSync(folder, { recursive: true });
});

const keys = () => join(works.dataDir, 'keys');
const make = (more: string[] = []) =>
  answerOf(['backup', '--data', works.dataDir, '--keys', keys(), '--out', backup, ...more]);
const data = () => join(folder, 'restored');
const restore = (more: string[] = []) => ['restore', backup, '--data', data(), ...more];

const collectorOn = (dataDir: string) =>
  createCollector({
    plantFile,
    dataDir,
    clock: works.clock,
    clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
    judge: 'inline',
    version: 'test',
    judgeEveryMs: 60_000,
  });

describe('a backup', () => {
  it('is made while the collector runs, is read whole, and holds no key', async () => {
    const size = works.collector.ledger.size();
    const made = await make();
    expect(made).toMatchObject({
      exit: 0,
      document: { size, log: 'test-works/c1/1', keys: false },
    });
    expect(readdirSync(backup).sort()).toEqual(['backup.json', 'journal.db', 'ledger.db']);
    expect(readWholeLedger(join(backup, 'ledger.db')).root).toBe(made.document['root']);
    works.press(1, usualFaceC);
    expect(works.collector.journal.head()).toBeGreaterThan(Number(made.document['batches']));
  });

  it('ends while the collector goes on writing', async () => {
    const endMs = works.clock.nowMs();
    // Some steps of a copy, were it made in steps.
    for (let s = 30_000; s > 0; s -= 1000) {
      const rows = Array.from({ length: 1000 }, (_, i) => ({ t: endMs - (s - i) * 1000, v: 130 }));
      works.reading('p1-ul', rows);
    }
    const { journal } = works.collector;
    const before = journal.head();
    // A commit at each turn of the loop: between any two steps of a copy there is one.
    let writing = setImmediate(function write() {
      works.reading('p1-ul', [{ t: endMs + journal.head(), v: 130 }]);
      writing = setImmediate(write);
    });
    onTestFinished(() => clearImmediate(writing));
    const made = await make();
    expect(made.exit).toBe(0);
    expect(journal.head()).toBeGreaterThan(before);
    expect(Number(made.document['batches'])).toBeLessThanOrEqual(journal.head());
  });

  it('takes keys along only when asked, and never writes over another', async () => {
    await make(['--with-keys']);
    expect(readdirSync(join(backup, 'keys'))).toEqual(readdirSync(keys()));
    expect(await refusalOf(['backup', '--data', works.dataDir, '--out', backup])).toMatchObject({
      exit: 2,
      code: 'bad-backup',
      file: backup,
    });
  });
});

describe('what is noted of backups', () => {
  const notes = () => JSON.parse(readFileSync(join(works.dataDir, 'backups.json'), 'utf8'));

  it('is when the data were copied, and when a copy was put back on trial, which leaves nothing', async () => {
    const fromMs = Date.now();
    await make();
    expect(notes()).toEqual({ madeMs: expect.any(Number), triedMs: null });
    const place = join(folder, 'place');
    mkdirSync(place);
    const trial = ['restore', backup, '--try', '--in', place, '--data', works.dataDir];
    const tried = await answerOf(trial);
    expect(tried).toMatchObject({ exit: 0, document: { tried: true, log: 'test-works/c1/1' } });
    expect(notes().triedMs).toBeGreaterThanOrEqual(fromMs);
    expect(notes().madeMs).toBeGreaterThanOrEqual(fromMs);
    expect(readdirSync(place)).toEqual([]);
    // The collector goes on in its own life.
    works.press(1, usualFaceC);
    expect(works.collector.ledger.log).toBe('test-works/c1/1');
  });

  it('is nothing where the copy is damaged', async () => {
    await make();
    appendFileSync(join(backup, 'journal.db'), 'x');
    const trial = ['restore', backup, '--try', '--in', folder, '--data', works.dataDir];
    expect(await refusalOf(trial)).toMatchObject({ exit: 2, code: 'bad-backup' });
    expect(notes().triedMs).toBeNull();
  });
});

describe('an earlier version', () => {
  it('leaves entries of kinds that it does not know as they are, and goes on', async () => {
    const later = {
      kind: 'something-of-later',
      by: 'p-1',
      about: { load: 'P1-1' },
      body: { a: 1 },
    };
    const [entry] = works.collector.append([later as unknown as Proposal]);
    works.restart();
    expect(works.collector.ledger.entry(entry!.n)).toMatchObject(later);
    works.press(1, usualFaceC);
    expect(works.collector.lot('K-118')?.loads).toMatchObject([{ load: 'P1-1', state: 'sealed' }]);
  });
});

describe('a restore', () => {
  it('goes on in the next life, says what was lost, and a lot of it verifies', async () => {
    await make();
    // What the earlier life says after the backup is heard outside, and lost here.
    works.press(30, usualFaceC);
    const size = works.collector.ledger.size();
    const seen = works.collector.ledger.sign()!;
    expect(seen.size).toBe(size);
    await works.collector.stop();
    const restored = await answerOf(restore(['--seen', textFile('seen.txt', seen.note)]));
    expect(restored).toMatchObject({
      exit: 0,
      document: { log: 'test-works/c1/2', from: 'test-works/c1/1' },
    });
    const { size: kept, lost } = restored.document as { size: number; lost: number };
    expect(lost).toBe(size - kept);

    const collector = collectorOn(data());
    const entry = collector.ledger.entry(kept);
    expect(entry).toMatchObject({ kind: 'log-continued', log: 'test-works/c1/2', n: kept });
    expect((entry?.body as LogContinued).seenOutside?.size).toBe(size);
    // It works on: another load of the same lot, judged by the restored journal and recipes.
    expect(collector.lot('K-118')?.loads).toMatchObject([{ load: 'P1-1', state: 'sealed' }]);
    const key = collector.ledger.checkpoint()!.key;
    await collector.stop();
    const out = ['--out', folder, '--data', data()];
    expect(await answerOf(['export', 'lot', 'K-118', ...out])).toMatchObject({ exit: 0 });
    const zip = readFileSync(join(folder, 'K-118.bundle.zip'));
    const brought = { key, since: null, nowMs: Date.now() };
    const verified = await verifyBundle(zip, brought, releasedModels());
    expect(verified).toMatchObject({ findings: [], authentic: true, complete: true });
  });

  it('refuses a folder that holds data, a changed file, and what is no backup', async () => {
    await make();
    expect(await refusalOf(['restore', backup, '--data', works.dataDir])).toMatchObject({
      exit: 2,
      code: 'bad-backup',
      expected: 'a folder without data',
    });
    appendFileSync(join(backup, 'journal.db'), 'x');
    expect(await refusalOf(restore())).toMatchObject({ exit: 2, file: join(backup, 'journal.db') });
    writeFileSync(join(backup, 'backup.json'), '{}');
    expect(await refusalOf(restore())).toMatchObject({ file: join(backup, 'backup.json') });
    expect(await refusalOf(['restore', folder, '--data', data()])).toMatchObject({ exit: 2 });
    expect(existsSync(join(data(), 'ledger.db'))).toBe(false);
  });
});

it('a ledger read whole names the entry in its middle that was changed', async () => {
  await works.collector.stop();
  const file = join(works.dataDir, 'ledger.db');
  expect(readWholeLedger(file).size).toBeGreaterThan(8);
  const db = new Database(file);
  db.exec("DROP TRIGGER entry_no_update; UPDATE entry SET bytes = x'7b7d' WHERE n = 4");
  db.close();
  expect(() => readWholeLedger(file)).toThrow(/entry 4 is not what was recorded/);
});
