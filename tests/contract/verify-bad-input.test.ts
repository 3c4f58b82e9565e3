import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it, test, vi } from 'vitest';
import { storedZip } from '@setwell/collector/export/stored-zip';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { verifyBundle, type Verification } from '@setwell/collector/verify/verify-bundle';
import { answerOf, refusalOf, textFile, wordsOf } from '../fixtures/command.ts';
import { lot, OpenedBundle, pressedLot, type PressedLot } from '../fixtures/pressed-lot.ts';

vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

let pressed: PressedLot;
let zip: Buffer;
let folder: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'verify-bad-'));
  pressed = await pressedLot();
  zip = await pressed.bundle();
});
afterAll(async () => {
  rmSync(folder, { recursive: true });
  await pressed.end();
});

const models = releasedModels();
const brought = { key: null, since: null, nowMs: Date.now() };
const verified = (bundle: Buffer, more: Partial<typeof brought> | object = {}) =>
  verifyBundle(bundle, { ...brought, ...more }, models);
const codes = ({ findings }: Verification) => [...new Set(findings.map(({ code }) => code))];

/** The bundle's members as another program packs them. */
function packedBy(python: string): Buffer {
  const file = join(folder, 'other.zip');
  writeFileSync(join(folder, 'in.zip'), zip);
  execFileSync('python3', ['-c', `import zipfile,sys\n${python}`], { cwd: folder });
  return execFileSync('cat', [file], { maxBuffer: 1 << 28 });
}

describe('files that are no bundle', () => {
  it.each([
    ['nothing', Buffer.alloc(0)],
    ['a text', Buffer.from('lot,load\nK-118,P1-00231\n')],
    ['a start of one', () => zip.subarray(0, 1000)],
    ['a zip without members', Buffer.from(`504b0506${'00'.repeat(18)}`, 'hex')],
  ])('%s: one finding', async (_what, bytes) => {
    const answer = await verified(typeof bytes === 'function' ? bytes() : bytes);
    expect(codes(answer)).toEqual(['not-a-bundle']);
    expect(answer).toMatchObject({ authentic: false, complete: false, recomputed: false });
  });

  it('a bomb: compressed members are not unpacked', async () => {
    const bomb = packedBy(
      `z=zipfile.ZipFile('other.zip','w',zipfile.ZIP_DEFLATED)\n` +
        `z.writestr('lot.json', b'0'*200_000_000)\nz.close()`,
    );
    expect(bomb.length).toBeLessThan(300_000);
    const answer = await verified(bomb);
    expect(codes(answer)).toEqual(['not-a-bundle']);
    expect(answer.findings[0]?.found).toMatch(/compressed member/);
  });

  it('packed anew by another program: not canonical, and that is all', async () => {
    const again = packedBy(
      `i=zipfile.ZipFile('in.zip')\nz=zipfile.ZipFile('other.zip','w')\n` +
        `[z.writestr(m.filename, i.read(m)) for m in i.infolist()]\nz.close()`,
    );
    expect(codes(await verified(again))).toEqual(['not-canonical']);
  });

  it('climbing paths, and a member twice', async () => {
    const forged = new OpenedBundle(zip);
    const members = [...forged.members].map(([name, bytes]) => ({ name, bytes }));
    for (const name of ['../../etc/cron.d/x', '/etc/passwd', 'loads/../lot.json', 'lot.json', '']) {
      const more = Buffer.concat([...storedZip([...members, { name, bytes: Buffer.from('x') }])]);
      expect([name, codes(await verified(more))]).toEqual([name, ['unknown-member']]);
    }
  });
});

describe('members that are not what they must be', () => {
  it.each([
    ['proof.json', '{'],
    ['proof.json', '{"format":2}'],
    ['proof.json', '['.repeat(200_000)],
    ['proof.json', `${'['.repeat(100_000)}${']'.repeat(100_000)}`],
    ['lot.json', '{"lot": "K-118"}'],
    ['lot.json', '{"entries":[],"loads":[{"load":7}],"lot":"K-118"}'],
  ])('%s of %j: broken JSON, and no crash', async (name, text) => {
    const forged = new OpenedBundle(zip);
    forged.put(name, text);
    const members = [...forged.members].map(([each, bytes]) => ({ name: each, bytes }));
    const answer = await verified(Buffer.concat([...storedZip(members)]));
    expect(codes(answer)).toContain('broken-json');
  });

  it.each(['', '\n', '{}\n', 'null\n', '{"v":1}\n', '\u0000\n', '[[[[\n'])(
    'entries %j: findings, and no crash',
    async (text) => {
      const forged = new OpenedBundle(zip);
      forged.put('ledger.jsonl', text);
      const members = [...forged.members].map(([name, bytes]) => ({ name, bytes }));
      const answer = await verified(Buffer.concat([...storedZip(members)]));
      expect(answer.authentic).toBe(false);
      expect(answer.complete).toBe(false);
    },
  );

  it('any bytes in any member: findings, and no crash', async () => {
    const { members } = new OpenedBundle(zip);
    const names = [...members.keys()];
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...names),
        fc.uint8Array({ maxLength: 400 }),
        async (name, bytes) => {
          const forged = [...members].map(([each, own]) => ({
            name: each,
            bytes: each === name ? Buffer.from(bytes) : own,
          }));
          const answer = await verified(Buffer.concat([...storedZip(forged)]));
          expect(answer.findings.length).toBeGreaterThan(0);
        },
      ),
      { numRuns: 25, seed: 20260302 },
    );
  });
});

describe('what is brought along', () => {
  it.each(['no key', '', 'a+b+c', '\u2014 x'])('a key %j is none: a finding', async (key) => {
    expect(codes(await verified(zip, { key }))).toEqual(['other-key']);
  });

  it('a checkpoint that is none: a finding', async () => {
    expect(codes(await verified(zip, { since: 'no checkpoint' }))).toEqual(['since-broken']);
  });

  it('times that lie ahead of this machine’s clock: a finding', async () => {
    const answer = await verified(zip, { nowMs: Date.parse('2026-03-01T00:00:00Z') });
    expect(codes(answer)).toEqual(['future-time']);
    expect(answer.findings[0]).toMatchObject({ where: 'entry 0', check: 'authentic' });
  });

  it('a file that is not there is refused with its name', async () => {
    const file = join(folder, 'no-such.zip');
    expect(await refusalOf(['verify', file])).toMatchObject({
      exit: 2,
      code: 'no-such-file',
      file,
    });
    expect(await refusalOf(['verify', folder])).toMatchObject({ exit: 2, code: 'no-file' });
  });
});

describe('the command', () => {
  it('answers 0 without findings, 1 with one, in words and as a document', async () => {
    const file = join(folder, 'lot.zip');
    writeFileSync(file, zip);
    const key = textFile('key.txt', `${pressed.key}\n`);
    const honest = await answerOf(['verify', file, '--key', key]);
    expect(honest).toMatchObject({
      exit: 0,
      document: { lot, authentic: true, complete: true, recomputed: true, findings: [] },
    });
    const other = pressed.key.replace(/\+[0-9a-f]{8}\+/, '+00000000+');
    const wrong = await answerOf(['verify', file, '--key', textFile('key.txt', other)]);
    expect(wrong).toMatchObject({ exit: 1, document: { findings: [{ code: 'other-key' }] } });
    const words = await wordsOf(['verify', file]);
    expect(words).toMatch(/authentic {3}yes\n {2}complete {4}yes\n {2}recomputed {2}yes/);
    expect(words).toContain('compare it with the one on an older sheet');
    expect(words).toContain('this file cannot show.');
  });
});

test('another zone, a Turkish locale and no home: the same answer, without the plant’s data', () => {
  const file = join(folder, 'lot.zip');
  writeFileSync(file, zip);
  const main = fileURLToPath(new URL('../../collector/cli/main.ts', import.meta.url));
  const loader = fileURLToPath(import.meta.resolve('tsx'));
  const at = (env: NodeJS.ProcessEnv) => {
    const args = ['--conditions=source', '--import', loader, main, 'verify', file, '--json'];
    const { stdout, status } = spawnSync(process.execPath, args, { cwd: '/', env });
    return { status, answer: JSON.parse(stdout.toString()) as Verification };
  };
  const { PATH } = process.env;
  const here = at({ PATH, TZ: 'UTC' });
  const turkish = { LANG: 'tr_TR.UTF-8', LC_ALL: 'tr_TR.UTF-8', LANGUAGE: 'tr' };
  const there = at({ PATH, TZ: 'Pacific/Kiritimati', ...turkish, HOME: '/nonexistent' });
  expect(here).toMatchObject({ status: 0, answer: { findings: [], recomputed: true } });
  expect(there).toEqual(here);
});
