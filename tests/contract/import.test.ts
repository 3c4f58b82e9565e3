import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { Importer } from '@setwell/collector/intake/importer';
import { Intake } from '@setwell/collector/intake/intake';
import { openJournal, openJournalReader } from '@setwell/collector/journal/journal';
import { importReadings, importRejects } from '@setwell/collector/cli/import';
import { SystemClock } from '@setwell/collector/system-clock';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import type { FaultFound } from '@setwell/shared-models/record/bodies';
import { openWorks, plantFile } from '../fixtures/press-plant/works.ts';
import { smallPlant } from '../fixtures/small-plant.ts';

const startMs = Date.parse('2026-03-02T08:00:00Z');
let folder: string;
let data: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'import-'));
  data = join(folder, 'data');
});
afterEach(() => rmSync(folder, { recursive: true }));

async function started(): Promise<Collector> {
  const collector = createCollector({
    ...{ plantFile, dataDir: data, judge: 'inline', version: 'test', serve: {} },
    ...{ clock: new SystemClock(wallClock), clockSetting: wallClock },
  });
  await collector.start();
  return collector;
}

function csv(text: string): string {
  const file = join(folder, 'logger.csv');
  writeFileSync(file, text);
  return file;
}

const options = (more = {}) => ({ plant: plantFile, data, by: 'j.berg', map: new Map(), ...more });

const wide = `time,p1-ul,Kanal 2
2026-03-02T08:00:00Z,135.2,134.1
2026-03-02T08:00:05Z,135.4,
2026-03-02T09:00:10+01:00,135.5,134.3
`;
const map = new Map([['Kanal 2', 'p1-ll']]);

function stored(point = 'p1-ul') {
  const reader = openJournalReader(join(data, 'journal.db'));
  const { readings } = reader.readings(point, 0, 5e12);
  const [batch] = reader.batchesAfter(0, 1);
  reader.close();
  return { readings, by: batch?.by };
}

test('a logger’s file goes into the journal with a name, and a second time does nothing', async () => {
  await (await started()).stop();
  const first = await importReadings(csv(wide), options({ map }));
  expect(first.document).toEqual({ taken: 5, duplicate: 0, conflict: 0, refused: 0, refusals: [] });
  expect(first.exit).toBe(0);
  const again = await importReadings(csv(wide), options({ map }));
  expect(again.document).toMatchObject({ taken: 0, duplicate: 5, refused: 0 });
  const { readings, by } = stored();
  expect(by).toBe('j.berg');
  expect(readings.map(({ t, v, quality }) => [t - startMs, v, quality])).toEqual([
    [0, 135.2, 'late'],
    [5000, 135.4, 'late'],
    [10_000, 135.5, 'late'],
  ]);
});

test('a file that was broken off is run again: what is there counts as such, the rest is taken', async () => {
  await (await started()).stop();
  const rows = Array.from({ length: 1500 }, (_, i) => `${startMs + i * 1000},${100 + (i % 9)}`);
  await importReadings(csv(`time,p1-ul\n${rows.slice(0, 900).join('\n')}`), options());
  const whole = await importReadings(csv(`time,p1-ul\n${rows.join('\n')}`), options());
  expect(whole.document).toMatchObject({ taken: 600, duplicate: 900 });
  expect(stored().readings).toHaveLength(1500);
});

test('points in rows, semicolons and decimal commas', async () => {
  await (await started()).stop();
  const text = `time;point;value;seq\n${startMs};p1-ul;135,2;7\n${startMs};p1-ll;134;8\n`;
  const { document } = await importReadings(csv(text), options());
  expect(document).toMatchObject({ taken: 2, refused: 0 });
  expect(stored().readings).toMatchObject([{ v: 135.2, deviceSeq: 7 }]);
});

test('a device’s count that is no whole number is refused by line, and the other lines are taken', async () => {
  await (await started()).stop();
  const odd = ['seven', '-1', '7.5', '1e3', '0x10', '9007199254740992', '7', ''];
  const lines = odd.map((seq, i) => `${String(startMs + i * 1000)},p1-ul,135,${seq}`);
  const file = csv(`time,point,value,seq\n${lines.join('\n')}\n`);
  const { document, text, exit } = await importReadings(file, options());
  const refusals = odd.slice(0, 6).map((found, i) => ({
    ...{ line: i + 2, field: 'seq', code: 'not-a-count', found },
    expected: 'a device’s count: a whole number from 0 to 9007199254740991',
  }));
  expect(document).toMatchObject({ taken: 2, refused: 6, refusals });
  expect(text).toContain(`${file}, line 2, seq: found seven; expected a device’s count`);
  expect(exit).toBe(1);
  expect(stored().readings.map(({ deviceSeq }) => deviceSeq)).toEqual([7, null]);
});

test('what contradicts the journal is kept as a conflict, and counted', async () => {
  await (await started()).stop();
  await importReadings(csv(`time,p1-ul\n${startMs},135\n`), options());
  const { document } = await importReadings(csv(`time,p1-ul\n${startMs},99\n`), options());
  expect(document).toMatchObject({ taken: 0, conflict: 1 });
  expect(stored().readings).toEqual([]);
});

test('a row that is no reading is refused with its line, and its neighbours are taken', async () => {
  await (await started()).stop();
  const text = `time,p1-ul\n${startMs},135\n2026-03-02 08:00,136\n${startMs + 1000},warm\n${Date.now() + 3_600_000},1\n`;
  const { document, exit, text: told } = await importReadings(csv(text), options());
  expect(exit).toBe(1);
  expect(document).toMatchObject({
    ...{ taken: 1, refused: 3 },
    refusals: [
      { line: 3, field: 'time', code: 'not-a-time', found: '2026-03-02 08:00' },
      { line: 4, field: 'p1-ul', code: 'not-a-number', found: 'warm' },
      { line: 5, field: 'time', code: 'ahead' },
    ],
  });
  expect(told).toContain('line 4, p1-ul: found warm; expected a number');
});

test.each([
  ['', /empty file/],
  ['a,b\n1,2\n', /"time"/],
  ['time,p1-ul,p1-ul\n', /twice/],
  ['time,p1-lu\n', /no point p1-lu \(p1-/],
  ['time\n', /a time and nothing else/],
])('a file that is none of a logger is refused at its first line: %j', async (text, why) => {
  await (await started()).stop();
  await expect(importReadings(csv(text), options())).rejects.toThrow(why);
});

test('while a collector runs the file goes through its interface, in as many requests as it needs', async () => {
  const collector = await started();
  const asIfElsewhere = join(data, 'collector.json');
  // In one process the lock looks like one's own: written as of the process above, it is another's.
  const { url } = JSON.parse(readFileSync(asIfElsewhere, 'utf8')) as { url: string };
  const command = readFileSync(`/proc/${process.ppid}/cmdline`, 'utf8');
  writeFileSync(asIfElsewhere, JSON.stringify({ pid: process.ppid, command, url }));
  const rows = Array.from({ length: 1100 }, (_, i) => `${startMs + i * 1000},${100 + (i % 9)}`);
  const { document } = await importReadings(csv(`time,p1-ul\n${rows.join('\n')}`), options());
  expect(document).toMatchObject({ taken: 1100, refused: 0 });
  expect(collector.journal.readings('p1-ul', 0, 5e12).readings).toHaveLength(1100);
  await collector.stop();
});

test('a message on a topic that nobody knew is taken as of when it came, once the plant knows it', () => {
  const path = join(folder, 'journal.db');
  const journal = openJournal(path);
  const reader = openJournalReader(path);
  const clock = new SteppedClock(startMs);
  const before = smallPlant();
  before.sensors.delete('p1-ll');
  const say = (intake: Intake, payload: string) => {
    const bytes = Buffer.from(payload);
    const handed = { retained: false, queued: false, act: null };
    intake.accept([{ topic: 'plant/press-1/p1-ll', payload: bytes, ...handed }]);
  };
  const old = new Intake({ plant: before, journal, clock });
  say(old, JSON.stringify({ t: startMs - 1000, v: 134 }));
  say(old, '134.5');
  say(old, 'warm');
  clock.advance(30 * 86_400_000);
  const plant = smallPlant();
  const intake = new Intake({ plant, journal, clock });
  const importer = new Importer(intake, { plant, journal, reader, clock });
  expect(importer.rejects('j.berg')).toEqual({ taken: 1, duplicate: 0, conflict: 0, refused: 2 });
  expect(reader.readings('p1-ll', 0, 5e12).readings).toMatchObject([{ v: 134, quality: 'good' }]);
  // A bare number has no time but its receipt, and may have waited: it stays aside.
  expect(reader.rejects(9).map(({ payload }) => payload)).toEqual(['warm', '134.5']);
  expect(importer.rejects('j.berg')).toMatchObject({ taken: 0, refused: 2 });
  reader.close();
  journal.close();
});

test('without a data folder there is nothing to import into', async () => {
  await expect(importReadings(csv(wide), options({ map }))).rejects.toThrow(/no journal/);
  await expect(importRejects(options())).rejects.toThrow(/no journal/);
});

test.each([
  ['by a bus, hours late', undefined, ['late']],
  ['from a logger’s file, by a person', 'j.berg', []],
])('what is said of a sensor whose readings came %s', async (_, by, found) => {
  const works = openWorks();
  try {
    const minutes = Array.from({ length: 40 }, (_, i) => works.clock.nowMs() + i * 60_000);
    works.clock.advance(6 * 3_600_000);
    const handed = { retained: false, queued: false, act: null };
    const arrivals = minutes.map((t, i) => ({
      ...{ ...handed, topic: 'plant/press-1/p1-ul' },
      payload: Buffer.from(JSON.stringify({ t, v: 30 + (i % 7) / 10 })),
    }));
    works.collector.accept(arrivals, by);
    works.clock.advance(60_000);
    works.collector.step();
    const faults = works.entries('fault-found').map(({ body }) => (body as FaultFound).rule);
    expect(faults.filter((rule) => rule === 'late')).toEqual(found);
  } finally {
    await works.end();
  }
});
