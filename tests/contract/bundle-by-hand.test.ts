import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { readStoredZip, storedZip } from '@setwell/collector/export/stored-zip';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { RecordExported } from '@setwell/shared-models/record/bodies';
import { pressedLot, type PressedLot } from '../fixtures/pressed-lot.ts';

// A load is computed a few times first.
vi.setConfig({ testTimeout: 60_000, hookTimeout: 60_000 });

let pressed: PressedLot;
let folder: string;
beforeAll(async () => {
  pressed = await pressedLot();
  folder = mkdtempSync(join(tmpdir(), 'by-hand-'));
  writeFileSync(join(folder, 'bundle.zip'), await pressed.bundle());
  // Another reader of zip files than ours.
  execFileSync('python3', ['-m', 'zipfile', '-e', 'bundle.zip', '.'], { cwd: folder });
});
afterAll(async () => {
  rmSync(folder, { recursive: true });
  await pressed.end();
});

const run = (command: string) => execFileSync('sh', ['-c', command], { cwd: folder }).toString();

test('the README’s way leads through sha256sum, openssl and twenty lines of script', () => {
  const readme = readFileSync(join(folder, 'README.txt'), 'utf8');
  const script = /----- check\.py\n([^]*?)\n----- end/.exec(readme)?.[1] ?? '';
  expect(script.split('\n').length).toBeLessThanOrEqual(24);
  writeFileSync(join(folder, 'check.py'), script);
  expect(run('python3 check.py')).toMatch(
    /^\d+ entries are in the checkpoint of \d+ by setwell\/test-works\/c1\/1\n$/,
  );
  const commands = [...readme.matchAll(/^(?: {2}\d | {4})((?:sha256sum|openssl|python3) .*)$/gm)];
  const [sums, signature, digest] = commands.map(([, command]) => run(command ?? ''));
  expect(sums).toContain('lot.json: OK');
  expect(sums).not.toContain('FAILED');
  expect(signature).toMatch(/Signature Verified Successfully/);
  const last = readFileSync(join(folder, 'ledger.jsonl'), 'utf8').trim().split('\n').at(-1) ?? '';
  const { kind, body } = JSON.parse(last) as Entry<RecordExported>;
  expect(kind).toBe('record-exported');
  expect(digest?.trim()).toBe(body.members);
});

test('the script does not pass a line that was changed', () => {
  const lines = readFileSync(join(folder, 'ledger.jsonl'), 'utf8');
  writeFileSync(join(folder, 'ledger.jsonl'), lines.replace('K-118', 'K-119'));
  expect(() => run('python3 check.py 2>/dev/null')).toThrow();
  writeFileSync(join(folder, 'ledger.jsonl'), lines);
});

test('the archive is the one its members have, at no time, by no machine', () => {
  const zip = readFileSync(join(folder, 'bundle.zip'));
  const read = readStoredZip(zip);
  expect(read).toMatchObject({ isCanonical: true });
  const members = 'members' in read ? read.members : [];
  expect(Buffer.concat([...storedZip(members)])).toEqual(zip);
  const listed = run(
    `python3 -c "import zipfile;print([(i.filename,i.date_time,i.compress_type) for i in zipfile.ZipFile('bundle.zip').infolist()])"`,
  );
  expect(listed).toContain("('README.txt', (1980, 1, 1, 0, 0, 0), 0)");
  expect(run('python3 -m zipfile -t bundle.zip')).toContain('Done testing');
});
