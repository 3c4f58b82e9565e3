import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, test, vi } from 'vitest';
import type { FindingCode } from '@setwell/collector/verify/finding';
import type { PeriodVerification } from '@setwell/collector/verify/verify-period';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { PeriodFile, PeriodProof } from '@setwell/shared-models/record/period';
import { answerOf, refusalOf, textFile } from '../fixtures/command.ts';
import { OpenedZip } from '../fixtures/opened-zip.ts';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

// A load is computed a few dozen times first.
vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

let works: Works;
let folder: string;
let zip: Buffer;
/** As it was posted on the first day. */
let earlier: string;

const place = () => ['--data', works.dataDir, '--keys', join(works.dataDir, 'keys')];
const exported = (from: string, to: string, more: string[] = []) => [
  ...['export', 'period', '--from', from, '--to', to, '--out', folder, '--by', 'auditor'],
  ...[...place(), ...more],
];

function pressing(load: string, lot: string): void {
  works.event('load-start', { load, lot, recipe: 'shell-13ply' });
  works.press(2, usualFaceC);
  works.event('load-end', { load });
  works.press(3, usualFaceC);
}

// Monday: two lots. Tuesday: one of them goes on. Wednesday: a third.
beforeAll(async () => {
  works = openWorks();
  folder = mkdtempSync(join(tmpdir(), 'export-period-'));
  pressing('P1-1', 'K-118');
  pressing('P1-2', 'K/119');
  earlier = works.collector.ledger.checkpoint()!.note;
  works.clock.advance(86_400_000);
  pressing('P1-3', 'K-118');
  works.clock.advance(86_400_000);
  pressing('P1-4', 'K-120');
  await works.collector.stop();
  const { document } = await answerOf(exported('2026-03-03', '2026-03-03'));
  const [{ file }] = document['files'] as [{ file: string }];
  zip = readFileSync(file);
});
afterAll(async () => {
  await works.end();
  rmSync(folder, { recursive: true });
});

async function verified(bundle: Buffer, more: string[] = []) {
  const file = join(folder, 'shown.zip');
  writeFileSync(file, bundle);
  const { exit, document } = await answerOf(['verify', file, ...more]);
  return { exit, ...(document as unknown as PeriodVerification) };
}
const codes = ({ findings }: PeriodVerification) => [...new Set(findings.map(({ code }) => code))];

/** A period's bundle in a forger's hands. */
class OpenedPeriod extends OpenedZip<PeriodProof> {
  constructor(bundle = zip) {
    super(bundle);
  }

  get lines(): string[] {
    return this.text('ledger/000001.jsonl').trimEnd().split('\n');
  }

  putLines(lines: string[]): void {
    this.put('ledger/000001.jsonl', lines.map((line) => `${line}\n`).join(''));
  }
}

describe('a period', () => {
  it('holds every entry of its days and a bundle of each lot they tell of, and verifies', async () => {
    const answer = await verified(zip, ['--since', textFile('checkpoint.txt', earlier)]);
    expect(codes(answer)).toEqual(['since-not-shown']);
    const plain = await verified(zip);
    expect(plain).toMatchObject({
      ...{ exit: 0, authentic: true, complete: true, recomputed: true, findings: [] },
      ...{ verdict: 'under' },
      period: { fromMs: Date.UTC(2026, 2, 3), toMs: Date.UTC(2026, 2, 4) },
    });
    expect(plain.proven[1]).toBe('Anyone can repeat the computation with model 3.');
    const opened = new OpenedPeriod();
    const entries = opened.lines.map((line) => JSON.parse(line) as Entry);
    const file = JSON.parse(opened.text('period.json')) as PeriodFile;
    // On Tuesday a call of Monday's other lot was cleared.
    expect(file.lots.map(({ lot }) => lot)).toEqual(['K-118', 'K/119']);
    expect(file.lots[0]).toEqual({
      ...{ lot: 'K-118', bundle: 'lots/00001-K-118.bundle.zip', loads: 2, verdict: 'under' },
      ...{ hold: null, dropped: null },
    });
    expect(opened.text('README.txt')).toContain('HELD AND DELETED\n  none of these lots\n');
    expect(entries.at(-1)).toMatchObject({ kind: 'record-exported', by: 'auditor' });
  });

  it('ties itself to an older checkpoint, and covers several days, lots with odd names too', async () => {
    const since = ['--since', textFile('checkpoint.txt', earlier)];
    const { document } = await answerOf(exported('2026-03-02', '2026-03-04', since));
    const [{ file }] = document['files'] as [{ file: string }];
    const answer = await verified(readFileSync(file), since);
    expect(answer).toMatchObject({ exit: 0, findings: [] });
    expect(answer.lots.map(({ lot, bundle }) => [lot, bundle])).toEqual([
      ['K-118', 'lots/00001-K-118.bundle.zip'],
      ['K-120', 'lots/00002-K-120.bundle.zip'],
      ['K/119', 'lots/00003-K_119.bundle.zip'],
    ]);
  });

  it('is refused where nothing was recorded, where it ends before it begins, where a day is none', async () => {
    expect(await refusalOf(exported('2020-01-01', '2020-01-31'))).toMatchObject({
      ...{ exit: 2, code: 'no-such-period', field: '--from' },
    });
    expect(await refusalOf(exported('2026-03-04', '2026-03-03'))).toMatchObject({ field: '--to' });
    expect(await refusalOf(exported('2026-02-30', '2026-03-03'))).toMatchObject({
      code: 'no-date',
    });
    expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([]);
  });

  it('is checked by its README’s way, with sha256sum, openssl and a short script', () => {
    const here = mkdtempSync(join(folder, 'by-hand-'));
    writeFileSync(join(here, 'bundle.zip'), zip);
    const run = (command: string) => execFileSync('sh', ['-c', command], { cwd: here }).toString();
    run('python3 -m zipfile -e bundle.zip .');
    const readme = readFileSync(join(here, 'README.txt'), 'utf8');
    const script = /----- check\.py\n([^]*?)\n----- end/.exec(readme)?.[1] ?? '';
    expect(script.split('\n').length).toBeLessThanOrEqual(24);
    writeFileSync(join(here, 'check.py'), script);
    expect(run('python3 check.py')).toMatch(/^entries \d+ to \d+ are all there, in the checkpoint/);
    const commands = [...readme.matchAll(/^ {2}\d ((?:sha256sum|openssl) .*)$/gm)];
    const [sums, signature] = commands.map(([, command]) => run(command ?? ''));
    expect(sums).toContain('lots/00001-K-118.bundle.zip: OK');
    expect(signature).toMatch(/Signature Verified Successfully/);
    run("sed -i 's/K-118/K-117/' ledger/000001.jsonl");
    expect(() => run('python3 check.py 2>/dev/null')).toThrow();
  });
});

describe('what is done to a period', () => {
  const tampered: [string, (forged: OpenedPeriod) => void, FindingCode[]][] = [
    [
      'a lot left out',
      (forged) => forged.members.delete('lots/00001-K-118.bundle.zip'),
      ['not-what-was-exported', 'entry-missing'],
    ],
    [
      'a lot’s bundle of another time',
      (forged) => {
        const name = 'lots/00001-K-118.bundle.zip';
        const lot = forged.members.get(name)!;
        forged.members.set(name, Buffer.concat([lot, Buffer.from('x')]));
      },
      ['not-what-was-exported', 'not-canonical'],
    ],
    [
      'an entry dropped',
      (forged) => forged.putLines(forged.lines.filter((_line, index) => index !== 6)),
      ['not-in-checkpoint', 'entry-missing', 'not-the-period'],
    ],
    [
      'two entries swapped',
      (forged) => {
        const { lines } = forged;
        [lines[5], lines[6]] = [lines[6]!, lines[5]!];
        forged.putLines(lines);
      },
      ['not-in-checkpoint', 'entry-missing'],
    ],
    [
      'the period’s last entry shown as a later one',
      (forged) => (forged.proof.next -= 1),
      ['not-the-period'],
    ],
    [
      'a deletion that never was, told in period.json',
      (forged) => {
        const file = JSON.parse(forged.text('period.json')) as PeriodFile;
        file.lots[0]!.dropped = { n: 3, atMs: 0, documents: 3 };
        forged.put('period.json', canonicalJson(file));
      },
      ['not-what-was-exported', 'period-file-differs'],
    ],
    ['a shorter period claimed', (forged) => (forged.proof.toMs -= 3_600_000), ['not-the-period']],
    [
      'the tail cut off',
      (forged) => forged.putLines(forged.lines.slice(0, -1)),
      ['not-in-checkpoint', 'no-listing'],
    ],
    [
      'period.json changed',
      (forged) => forged.put('period.json', forged.text('period.json').replace('under', 'over')),
      ['not-what-was-exported'],
    ],
    ['broken JSON', (forged) => forged.put('period.json', '{'), ['not-what-was-exported']],
    [
      'a climbing path',
      (forged) => forged.put('lots/../../x', 'x'),
      ['unknown-member', 'missing-member'],
    ],
  ];
  it.each(tampered)('%s: found', async (_what, forge, expected) => {
    const forged = new OpenedPeriod();
    forge(forged);
    const answer = await verified(forged.packed());
    expect(answer.exit).toBe(1);
    expect(codes(answer)).toEqual(expect.arrayContaining(expected));
  });

  it('sealed again by another key: found, by the log itself', async () => {
    const forged = new OpenedPeriod();
    forged.reseal();
    expect(codes(await verified(forged.packed()))).toEqual(['key-not-in-log']);
  });
});

test('any byte of a thousand, flipped, is found', async () => {
  for (let at = 0; at < zip.length; at += Math.ceil(zip.length / 12)) {
    const flipped = Buffer.from(zip);
    flipped[at]! ^= 1 << (at % 8);
    expect([at, (await verified(flipped)).findings.length > 0]).toEqual([at, true]);
  }
});
