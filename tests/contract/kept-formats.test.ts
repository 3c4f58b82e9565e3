import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { openJournal, openJournalReader } from '@setwell/collector/journal/journal';
import { KeyFolder } from '@setwell/collector/ledger/key-folder';
import { openLedger } from '@setwell/collector/ledger/ledger';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import type { Verification } from '@setwell/collector/verify/verify-bundle';
import { PeopleDb } from '@setwell/dashboard/server/people/people-db';
import { answerOf } from '../fixtures/command.ts';
import { startMs } from '../fixtures/press-plant/works.ts';

// Each bundle is computed again in a process of its own.
vi.setConfig({ testTimeout: 120_000 });

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'kept-formats-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

/** What each format has written, by name, and what it says; typed in when it was written. */
const formats = [
  {
    format: 'format-1',
    bundle: {
      lot: 'K-117',
      verdict: 'unproven',
      checkpoint: {
        size: 722,
        root: '291mhc58JDE/+e7q0qN/QDEJIpVoUs3eL1fzzEgYSCU=',
        at: '2026-03-02T08:52:05.010Z',
      },
      loads: [
        { load: 'P2-00536', verdict: 'in-window' },
        { load: 'P2-00537', verdict: 'in-window' },
        { load: 'P2-00538', verdict: 'unproven' },
      ],
    },
    backup: { lot: 'K-118', verdict: 'under', entries: 14, batches: 22, readings: 120 },
  },
];

const kept = (format: string, name: string) =>
  fileURLToPath(new URL(`../fixtures/${format}/${name}`, import.meta.url));

const turkish = { LANG: 'tr_TR.UTF-8', LC_ALL: 'tr_TR.UTF-8', LANGUAGE: 'tr' };
const elsewhere = {
  PATH: process.env['PATH'],
  TZ: 'Pacific/Chatham',
  ...turkish,
  HOME: '/nowhere',
};

/** A process where nothing of this plant lies, twelve time zones away, in Turkish. */
function runElsewhere(args: string[]): { status: number | null; out: string } {
  const { status, stdout } = spawnSync(process.execPath, args, { cwd: folder, env: elsewhere });
  return { status, out: stdout.toString() };
}

it('elsewhere is another zone and another language', () => {
  const asked = 'console.log((1.5).toLocaleString(), new Date(0).toLocaleString())';
  expect(runElsewhere(['--eval', asked]).out).toBe('1,5 01.01.1970 12:45:00\n');
});

describe.each(formats)('what $format has written', ({ format, bundle, backup }) => {
  it('is a bundle that verifies without a finding, anywhere', () => {
    const main = fileURLToPath(new URL('../../collector/cli/main.ts', import.meta.url));
    const loader = fileURLToPath(import.meta.resolve('tsx'));
    const file = kept(format, 'demo.bundle.zip');
    const words = ['--conditions=source', '--import', loader, main, 'verify', file, '--json'];
    const { status, out } = runElsewhere(words);
    const answer = JSON.parse(out) as Verification;
    expect(answer.findings).toEqual([]);
    expect({ status, ...answer }).toMatchObject({
      ...{ status: 0, authentic: true, complete: true, recomputed: true, demo: true },
      ...{ lot: bundle.lot, verdict: bundle.verdict, checkpoint: bundle.checkpoint },
      loads: bundle.loads.map((load) => ({ ...load, recomputed: true })),
    });
  });

  it('is databases that open where they lie and are added to', () => {
    for (const name of ['ledger.db', 'journal.db', 'people.db']) {
      cpSync(kept(format, `backup/${name}`), join(folder, name));
    }
    const clock = new SteppedClock(startMs);
    const keys = new KeyFolder(join(folder, 'keys'));
    const ledger = openLedger(join(folder, 'ledger.db'), 'test-works/c1/1', clock, keys);
    // Its private key stayed with whoever wrote it: the log says that it goes on with another.
    expect(ledger.entry(backup.entries)?.kind).toBe('key-changed');
    expect(ledger.sign()?.size).toBe(backup.entries + 1);
    ledger.close();

    const journal = openJournal(join(folder, 'journal.db'));
    expect(journal.head()).toBe(backup.batches);
    journal.rebuildIndex();
    journal.close();
    const reader = openJournalReader(join(folder, 'journal.db'));
    const read = (point: string) => reader.readings(point, 0, Infinity).readings.length;
    expect(read('p1-ul') + read('p1-ll')).toBe(backup.readings);
    reader.close();

    const people = new PeopleDb(join(folder, 'people.db'));
    expect(people.person('p-1')).toMatchObject({ name: 'R. Voss', jobs: ['shift-lead'] });
    people.put({ ...people.person('p-1')!, id: people.nextId(0), name: 'A. Lind' }, {});
    expect(people.people()).toHaveLength(2);
    people.close();
  });

  it('is a backup that is restored, and whose lot then goes out as a bundle without a finding', async () => {
    const data = join(folder, 'data');
    const restored = await answerOf(['restore', kept(format, 'backup'), '--data', data]);
    expect(restored).toMatchObject({ exit: 0, document: { size: backup.entries } });
    const out = ['--out', folder, '--data', data];
    expect(await answerOf(['export', 'lot', backup.lot, ...out])).toMatchObject({ exit: 0 });
    const { exit, document } = await answerOf(['verify', join(folder, `${backup.lot}.bundle.zip`)]);
    expect({ exit, ...document }).toMatchObject({ exit: 0, verdict: backup.verdict, findings: [] });
  });
});
