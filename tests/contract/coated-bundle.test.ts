import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { runSetwell } from '@setwell/collector/cli/program';
import type { FindingCode } from '@setwell/collector/verify/finding';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { verifyBundle } from '@setwell/collector/verify/verify-bundle';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { LotFiled } from '@setwell/shared-models/record/bodies';
import type { LotFile } from '@setwell/shared-models/record/lot-file';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { lot, openOven, type Oven } from '../fixtures/coated-lot.ts';
import { OpenedBundle } from '../fixtures/pressed-lot.ts';
import { until } from '../fixtures/until.ts';

// Three bakes are computed, and in each bundle again.
vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

let oven: Oven;
let zip: Buffer;
let key: string;
const folder = mkdtempSync(join(tmpdir(), 'coated-lot-'));
const models = releasedModels();

/** Coats 1 and 3; the second gate was left open. The first on two sets of tops. */
beforeAll(async () => {
  oven = openOven(3);
  const sets = [
    ['S-204-01', 'S-204-02'],
    ['S-204-03', 'S-204-04'],
  ];
  oven.bake(1, { load: 'O1-1A', parts: sets[0] });
  oven.rest(1);
  oven.bake(1, { load: 'O1-1B', parts: sets[1], airC: 60 });
  oven.rest(3);
  oven.bake(3, { load: 'O1-3', parts: sets.flat() });
  const { works } = oven;
  works.collector.append([
    {
      kind: 'disposition',
      by: 'R. Voss',
      about: { lots: [lot] },
      body: { decision: 'concession', reason: 'strip to 1', onRevision: 1 },
    },
  ]);
  works.collector.step();
  await until(() => works.entries('lot-filed').length > 0);
  key = works.collector.ledger.checkpoint()!.key;
  await works.collector.stop();
  const words = ['export', 'lot', lot, '--out', folder, '--data', works.dataDir];
  let said = '';
  const tell = (text: string) => void (said += text);
  const code = await runSetwell([...words, '--keys', join(works.dataDir, 'keys')], {
    out: tell,
    err: tell,
  });
  if (code !== 0) throw new Error(said);
  zip = readFileSync(join(folder, `${lot}.bundle.zip`));
});
afterAll(async () => {
  await oven.end();
  rmSync(folder, { recursive: true, force: true });
});

const codesOf = async (bundle: Buffer) => {
  const { findings } = await verifyBundle(bundle, { key, since: null, nowMs: Date.now() }, models);
  return [...new Set(findings.map(({ code }) => code))];
};

const accountOf = (bundle: OpenedBundle, load: string) =>
  bundle.entries().find(({ kind, about }) => kind === 'load-sealed' && about.load === load)!.n;

describe('a coated lot', () => {
  it('is filed with each set’s coats over all its bakes, by the released model', () => {
    const { coats, coatsBy } = new OpenedBundle(zip)
      .entries()
      .find(({ kind }) => kind === 'lot-filed')!.body as LotFiled;
    expect(coatsBy?.number).toBe(3);
    expect(coats?.map(({ parts }) => parts)).toEqual([
      ['S-204-01', 'S-204-02'],
      ['S-204-03', 'S-204-04'],
    ]);
    for (const stack of coats ?? []) {
      expect(stack.coats.map(({ verdict }) => verdict)).toEqual([
        ...['in-window', 'under', 'in-window'],
      ]);
      expect(stack.coats[1]).toMatchObject({ coat: 2, load: null, step: { low: 0, high: 0 } });
    }
    const [first, second] = coats ?? [];
    expect(first!.coats[0]!.sum.nominal).toBeGreaterThan(second!.coats[0]!.sum.nominal + 2);
  });

  it('says the same in its file for people, by the last bake of each set', () => {
    const bundle = new OpenedBundle(zip);
    const file = JSON.parse(bundle.text('lot.json')) as LotFile;
    const { coats } = bundle.entries().find(({ kind }) => kind === 'lot-filed')!.body as LotFiled;
    expect(file.coats).toEqual(coats);
  });

  it('is printed with each set’s coats as they lie', () => {
    const file = join(folder, 'record.pdf');
    writeFileSync(file, new OpenedBundle(zip).members.get('record.pdf')!);
    const printed = execFileSync('pdftotext', ['-layout', '-l', '1', file, '-']).toString();
    expect(printed.match(/Coats as they lie, top first/g)).toHaveLength(2);
    const pages = execFileSync('pdftotext', ['-layout', '-f', '2', file, '-']).toString();
    // The air that the parts met, and what all bakes came to, with the digits that count.
    expect(pages).toContain('o1 air');
    expect(pages).toMatch(/\d\.\d\d to\s+\d+\.\d\d min/);
    expect(pages).not.toMatch(/\d\.\d{4}/);
    expect(printed).toContain('Parts S-204-01, S-204-02');
    expect(printed).toContain('Coat 2 · Undercured');
    expect(printed).toContain('never baked: no later bake heals it');
    expect(printed).toMatch(/own bake O1-1B: \d+\.\d to \d+\.\d min/);
    expect(printed.indexOf('Coat 3 ·')).toBeLessThan(printed.indexOf('Coat 1 ·'));
  });

  it('is computed again from its readings without a finding', async () => {
    expect(await codesOf(zip)).toEqual([]);
  });
});

describe('tampering with coats', () => {
  const tamperings: [string, (bundle: OpenedBundle) => void, FindingCode[]][] = [
    [
      'a coat of the lot’s file that was missed, told as baked',
      (bundle) => {
        const at = bundle.entries().findIndex(({ kind }) => kind === 'lot-filed');
        const entry = bundle.entries()[at]!;
        const { coats } = entry.body as LotFiled;
        Object.assign(coats![0]!.coats[1]!, { load: 'O1-2', verdict: 'in-window' });
        bundle.lines[at] = canonicalJson(entry);
      },
      ['not-in-checkpoint', 'coats-differ'],
    ],
    [
      'what a load carries, made less',
      (bundle) => {
        const name = `loads/${accountOf(bundle, 'O1-3')}/input.json`;
        const input = JSON.parse(bundle.text(name)) as ScoreInput;
        for (const state of input.coats[0]!.own!.states) state.highs[0] = 1;
        bundle.put(name, canonicalJson(input));
      },
      ['not-what-was-sealed', 'coats-differ', 'result-differs'],
    ],
    [
      'what a load carries, left out',
      (bundle) => {
        const name = `loads/${accountOf(bundle, 'O1-3')}/input.json`;
        const input = JSON.parse(bundle.text(name)) as ScoreInput;
        bundle.put(name, canonicalJson({ ...input, coats: [] }));
      },
      ['not-what-was-sealed', 'coats-differ', 'result-differs'],
    ],
    [
      'a reading of the first coat’s bake, nudged by 0.1 °C',
      (bundle) => {
        const name = `loads/${accountOf(bundle, 'O1-1A')}/readings.csv`;
        const lines = bundle.text(name).split('\n');
        const middle = Math.floor(lines.length / 2);
        lines[middle] = lines[middle]!.replace(/,62$/, ',62.1');
        bundle.put(name, lines.join('\n'));
      },
      ['not-what-was-sealed', 'coats-differ', 'result-differs'],
    ],
    [
      'the first coat’s bake left out',
      (bundle) => {
        const n = accountOf(bundle, 'O1-1A');
        bundle.drop(bundle.entries().findIndex((entry) => entry.n === n));
        for (const name of bundle.members.keys()) {
          if (name.startsWith(`loads/${n}/`)) bundle.members.delete(name);
        }
      },
      ['entry-missing', 'coats-differ'],
    ],
    [
      'a coat in the file for people',
      (bundle) => {
        const file = JSON.parse(bundle.text('lot.json')) as LotFile;
        file.coats[0]!.coats[1]!.verdict = 'in-window';
        bundle.put('lot.json', canonicalJson(file));
      },
      ['not-what-was-exported', 'lot-file-differs'],
    ],
    [
      'a load’s coat in the file for people, and the lot’s with it',
      (bundle) => {
        const text = bundle.text('lot.json');
        bundle.put('lot.json', text.replaceAll('"load":null,', '"load":"O1-2",'));
      },
      ['not-what-was-exported', 'lot-file-differs'],
    ],
    [
      'bytes that are no JSON',
      (bundle) => bundle.put(`loads/${accountOf(bundle, 'O1-1B')}/input.json`, '{"coats":'),
      ['not-what-was-sealed', 'broken-json', 'coats-differ'],
    ],
  ];

  it.each(tamperings)('%s', async (_what, change, expected) => {
    const forged = new OpenedBundle(zip);
    change(forged);
    expect(await codesOf(forged.packed())).toEqual(expect.arrayContaining(expected));
  });
});
