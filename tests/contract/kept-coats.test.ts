import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { beforeAll, expect, it, vi } from 'vitest';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { verifyBundle } from '@setwell/collector/verify/verify-bundle';
import type { Disposition, LoadAmended, LotFiled } from '@setwell/shared-models/record/bodies';
import type { FindingCode } from '@setwell/collector/verify/finding';
import { OpenedBundle } from '../fixtures/pressed-lot.ts';

// Three bakes are computed twice, and in each bundle again.
vi.setConfig({ testTimeout: 120_000 });

/** Typed in when the bundle was written, as all that is expected of it here. */
const root = 'pMkJPP/ZtvJuF+H4329djgMrJ/b49BqFZpqDxcvjQA8=';

const models = releasedModels();
let zip: Buffer;
beforeAll(() => {
  const file = new URL('../fixtures/format-1/coats-amended.bundle.zip', import.meta.url);
  zip = readFileSync(fileURLToPath(file));
});
const verified = (bundle: Buffer) =>
  verifyBundle(bundle, { key: null, since: null, nowMs: Date.now() }, models);

it('a kept bundle of amended loads and coats verifies, and computes again', async () => {
  expect(await verified(zip)).toMatchObject({
    ...{ lot: 'S-204', authentic: true, complete: true, recomputed: true, findings: [] },
    ...{ verdict: 'under', checkpoint: { size: 104, root } },
    loads: [
      { load: 'O1-1', revision: 1, verdict: 'unproven' },
      { load: 'O1-2', revision: 1, verdict: 'under' },
      { load: 'O1-3', revision: 1, verdict: 'under' },
      { load: 'O1-1', revision: 2, verdict: 'in-window' },
      { load: 'O1-2', revision: 2, verdict: 'under' },
      { load: 'O1-3', revision: 2, verdict: 'under' },
    ].map((each) => ({ ...each, model: 2, recomputed: true })),
  });
});

it('it still says why each account was followed by another, who held and which two let go, and the coats', () => {
  const entries = new OpenedBundle(zip).entries();
  const bodies = <Body>(kind: string) =>
    entries
      .filter((entry) => entry.kind === kind)
      .map(({ by, body }) => ({ by, body: body as Body }));
  expect(bodies<LoadAmended>('load-amended').map(({ body }) => body.because)).toEqual([
    ...['late', 'upstream', 'upstream'],
  ]);
  expect(bodies<Disposition>('disposition').map(({ by, body }) => [by, body.decision])).toEqual(
    expect.arrayContaining([
      ['p-3', 'hold'],
      ['p-1', 'concession'],
      ['p-2', 'concession'],
    ]),
  );
  const [stack] = bodies<LotFiled>('lot-filed').at(-1)?.body.coats ?? [];
  expect(stack?.coats.map(({ coat, load, verdict }) => [coat, load, verdict])).toEqual([
    [1, 'O1-1', 'in-window'],
    [2, 'O1-2', 'under'],
    [3, 'O1-3', 'in-window'],
  ]);
});

const drop = (n: number) => (bundle: OpenedBundle) => {
  bundle.drop(bundle.entries().findIndex((entry) => entry.n === n));
};

it.each<[string, (bundle: OpenedBundle) => void, FindingCode[]]>([
  ['its hold left out', drop(87), ['entry-missing', 'lot-file-differs']],
  ['the second person’s concession left out', drop(100), ['entry-missing', 'lot-file-differs']],
  [
    'the first bake’s first account left out',
    drop(39),
    ['entry-missing', 'revision-missing', 'lot-file-differs'],
  ],
  [
    'a reading of the first bake, nudged by 0.1 °C',
    (bundle) => {
      const lines = bundle.text('loads/93/readings.csv').split('\n');
      const middle = Math.floor(lines.length / 2);
      lines[middle] = lines[middle]!.replace(/,62$/, ',62.1');
      bundle.put('loads/93/readings.csv', lines.join('\n'));
    },
    ['not-what-was-exported', 'not-what-was-sealed', 'coats-differ', 'result-differs'],
  ],
])('%s: the findings of then', async (_what, change, expected) => {
  const bundle = new OpenedBundle(zip);
  change(bundle);
  const { findings } = await verified(bundle.packed());
  expect([...new Set(findings.map(({ code }) => code))].sort()).toEqual([...expected].sort());
});
