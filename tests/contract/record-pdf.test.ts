import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { runSetwell } from '@setwell/collector/cli/program';
import { openPdf, pdfBytes, table } from '@setwell/collector/export/pdf-page';
import { printLanguages, screenWords } from '@setwell/collector/export/print-words';
import { recordPdf } from '@setwell/collector/export/record-pdf';
import type { LotFile } from '@setwell/shared-models/record/lot-file';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { trace } from '@setwell/shared-models/score/trace';
import { amend, lot, OpenedBundle, pressedLot, type PressedLot } from '../fixtures/pressed-lot.ts';

// A load is computed a few times first.
vi.setConfig({ testTimeout: 60_000, hookTimeout: 60_000 });

let pressed: PressedLot;
let bundle: OpenedBundle;
let folder: string;
let text: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'record-pdf-'));
  pressed = await pressedLot(24, amend);
  bundle = new OpenedBundle(await pressed.bundle());
  text = textOf(bundle.members.get('record.pdf')!);
});
afterAll(async () => {
  await pressed.end();
  rmSync(folder, { recursive: true });
});

function textOf(pdf: Buffer): string {
  const file = join(folder, 'record.pdf');
  writeFileSync(file, pdf);
  execFileSync('pdftotext', ['-layout', file, join(folder, 'record.txt')]);
  return readFileSync(join(folder, 'record.txt'), 'utf8');
}

test('the file is whole, its typeface embedded, for an archive', () => {
  const file = join(folder, 'record.pdf');
  writeFileSync(file, bundle.members.get('record.pdf')!);
  expect(execFileSync('qpdf', ['--check', file]).toString()).toContain('No syntax or stream');
  const fonts = execFileSync('pdffonts', [file]).toString().trim().split('\n').slice(2);
  expect(fonts.length).toBeGreaterThan(0);
  // The columns emb and sub.
  expect(fonts.every((line) => / yes yes (yes|no) /.test(line))).toBe(true);
  const metadata = execFileSync('pdfinfo', ['-meta', file]).toString();
  expect(metadata).toMatch(/pdfaid:part>3</);
});

test('each page says which of how many, the zone, and whether anything has changed', () => {
  const pages = text.split('\f').filter((page) => page.trim() !== '');
  expect(pages.length).toBeGreaterThan(1);
  for (const [index, page] of pages.entries()) {
    expect(page).toContain(`page ${index + 1} of ${pages.length}`);
    expect(page).toContain('times in Europe/Copenhagen');
    expect(page).toContain('changed since original: yes');
  }
});

test('it says the verdict, the doubts, the accounts, and the checkpoint with its key', () => {
  expect(text).toContain('In window');
  expect(text).toMatch(/Recipe shell-13ply, revision 1\./);
  expect(text).toMatch(/lay-up +\d/);
  expect(text).toMatch(/2 +\d+ +2026-03-02T10:07:00\+01:00 +late readings/);
  expect(text).toMatch(/this sheet\s+cannot show/);
  expect(text).toContain(pressed.key);
  expect(text).toMatch(/root +[A-Za-z0-9+/]{43}=/);
});

test('an instrument changed in mid-load is a mark in the picture, with both certificates beside it', async () => {
  const file = JSON.parse(bundle.text('lot.json')) as LotFile;
  const [load] = file.loads;
  const account = [...bundle.members.keys()].find((name) => name.endsWith('/input.json'))!;
  const input = JSON.parse(bundle.text(account)) as ScoreInput;
  const [point, sensor] = Object.entries(input.sensors)[0]!;
  const fresh = { ...sensor, instrument: 'pt-0412', certificate: 'C-0412' };
  const outMs = load!.startMs + 600_000;
  const changes = [
    { fromMs: outMs, sensor: null },
    { fromMs: outMs + 180_000, sensor: fresh },
  ];
  const changed = {
    ...input,
    sensors: {
      ...input.sensors,
      [point]: { ...sensor, instrument: 'pt-0411', certificate: 'C-0411', changes },
    },
  };
  const drawn = trace(changed, bundle.text(account.replace('input.json', 'readings.csv')));
  const told = textOf(
    await recordPdf({
      ...{ file, checkpoint: null, by: 'R. Voss', atMs: outMs, language: 'en' as const },
      traces: new Map([[load!.load, Promise.resolve(drawn)]]),
      inputs: new Map([[load!.load, changed]]),
    }),
  );
  expect(told).toContain(`${point}: out`);
  expect(told).toContain(`${point}: pt-0412`);
  expect(told).toContain('pt-0411 C-0411');
  expect(told).toMatch(/p1-ll from 09:53:00 +pt-0412 C-0412/);
  expect(told).toContain('nothing fitted');
});

test('the same record gives the same bytes, and no name becomes another one', async () => {
  const file = JSON.parse(bundle.text('lot.json')) as LotFile;
  const [load] = file.loads;
  const account = [...bundle.members.keys()].find((name) => name.endsWith('/input.json'))!;
  const input = JSON.parse(bundle.text(account)) as ScoreInput;
  const drawn = trace(input, bundle.text(account.replace('input.json', 'readings.csv')));
  const print = {
    file: { ...file, lot: 'K-\u9f8d-\u{1F600}', site: { ...file.site, demo: true } },
    checkpoint: null,
    traces: new Map([[load!.load, Promise.resolve(drawn)]]),
    inputs: new Map([[load!.load, input]]),
    by: 'R. Voß',
    language: 'en' as const,
    atMs: Date.parse('2026-03-02T12:00:00Z'),
  };
  const pdf = await recordPdf(print);
  expect(await recordPdf(print)).toEqual(pdf);
  const told = textOf(pdf);
  expect(told).toContain('Lot K-[U+9F8D]-[U+1F600]');
  expect(told).toContain('printed by R. Voß');
  expect(told).toMatch(/D ?E ?M ?O/);
});

test('in German it is as whole, in the words of the screens, with decimal commas and no English left', async () => {
  const words = ['export', 'lot', lot, '--out', folder, '--as', 'pdf', '--language', 'de'];
  const said: string[] = [];
  const tell = (line: string) => void said.push(line);
  const { dataDir } = pressed.works;
  const code = await runSetwell([...words, '--data', dataDir, '--keys', join(dataDir, 'keys')], {
    ...{ out: tell, err: tell },
  });
  expect({ code, said }).toMatchObject({ code: 0 });
  const file = join(folder, 'record.pdf');
  expect(execFileSync('qpdf', ['--check', file]).toString()).toContain('No syntax or stream');
  const fonts = execFileSync('pdffonts', [file]).toString().trim().split('\n').slice(2);
  expect(fonts.every((line) => / yes yes (yes|no) /.test(line))).toBe(true);
  expect(execFileSync('pdfinfo', ['-meta', file]).toString()).toMatch(/pdfaid:part>3</);
  expect(readFileSync(file, 'latin1')).toContain('/Lang (de)');
  const german = textOf(readFileSync(file));
  for (const told of ['Los K-118', 'Im Fenster', 'Seite 1 von', 'Zeiten in Europe/Copenhagen']) {
    expect(german).toContain(told);
  }
  expect(german).toMatch(/Aufbau +\d,\d/);
  expect(german).toMatch(/19,5 mm/);
  expect(german).toMatch(/seit der ersten Fassung geändert: ja/);
  expect(german).toMatch(/2 +\d+ +2026-03-02T10:07:00\+01:00 +späte Werte/);
  expect(german).not.toMatch(/\b(the|of|and|nothing|sealed|page|nobody|readings)\b/);
});

test('a load that is not proven says why, and what was breached without being a verdict', async () => {
  const file = JSON.parse(bundle.text('lot.json')) as LotFile;
  const [load] = file.loads;
  const account = [...bundle.members.keys()].find((name) => name.endsWith('/input.json'))!;
  const input = JSON.parse(bundle.text(account)) as ScoreInput;
  const fromMs = load!.startMs + 120_000;
  const toMs = fromMs + 90_000;
  const unproven: LotFile['loads'][number] = {
    ...load!,
    ...{ verdict: 'unproven', side: 'short' },
    reasons: [
      { code: 'low-misses-least', by: 1.25, zone: 'left', glueLine: 6 },
      { code: 'gap', point: 'p1-ul', fromMs, toMs, cost: 0.5 },
      { code: 'fault', point: 'p1-ll', rule: 'swapped', fromMs, toMs: null },
      { code: 'requirement', kind: 'assembly-time', verdict: 'unproven' },
    ],
    deviations: [
      {
        ...{ phase: 'before-load', zone: 'left', what: 'p1-ul', side: 'short' },
        ...{ by: 2.5, unit: 'K', atMs: fromMs },
      },
    ],
  };
  const printed = async (language: 'en' | 'de') => {
    const common = { checkpoint: null, by: 'R. Voss', atMs: toMs, traces: new Map(), language };
    const inputs = new Map([[load!.load, input]]);
    const pdf = await recordPdf({ ...common, file: { ...file, loads: [unproven] }, inputs });
    return textOf(pdf).replaceAll(/\s+/g, ' ');
  };
  for (const told of [
    'What holds against it',
    'The low end is 1.3 min short at left · glue line 6.',
    'p1-ul was silent or doubted from 2026-03-02 09:42:00 to 2026-03-02 09:43:30: it costs 0.50 min.',
    'p1-ll: Swapped with another, since 2026-03-02 09:42:00. Its readings do not count.',
    'assembly time: Unproven.',
    'p1-ul (left) was 2.5 K too cold before the load.',
  ]) {
    expect(await printed('en')).toContain(told);
  }
  for (const told of [
    'Was dagegen spricht',
    'Dem unteren Ende fehlen 1,3 min an left · Leimfuge 6.',
    'p1-ul (left) war vor der Beschickung um 2,5 K zu kalt.',
  ]) {
    expect(await printed('de')).toContain(told);
  }
});

/** The words of those screens that speak of what a record prints too. */
async function messages(language: string): Promise<Record<string, string>> {
  const all = ['words', 'load', 'decide', 'frame', 'sensor'].map(async (screen) => {
    const file = new URL(`../../dashboard/web/messages/${language}/${screen}.ts`, import.meta.url);
    const { [screen]: own } = (await import(file.pathname)) as Record<string, object>;
    return own ?? {};
  });
  return Object.assign({}, ...(await Promise.all(all))) as Record<string, string>;
}

test('a word that the screens have too is the same on paper, in each language', async () => {
  for (const language of printLanguages) {
    const screens = await messages(language);
    const { unheard, ...lists } = screenWords[language];
    expect(screens['check.unheard']).toBe(unheard);
    for (const [list, words] of Object.entries(lists)) {
      const prefix = { term: 'load.term', covered: 'load.covered' }[list] ?? list;
      for (const [name, word] of Object.entries(words)) {
        const key = `${prefix}.${name}`;
        expect([key, screens[key]]).toEqual([key, word]);
      }
    }
  }
});

test('a table that goes on has its headings on each page', async () => {
  const pdf = await openPdf('Entries', 0, 'en');
  const rows = Array.from({ length: 120 }, (_, n) => [String(n), 'sealed']);
  const drawn = await pdfBytes(pdf, () => table(pdf, [80, 80], [['entry', 'what'], ...rows]));
  const pages = textOf(drawn).split('\f').slice(0, -1);
  expect(pages.length).toBeGreaterThan(1);
  for (const page of pages) expect(page).toMatch(/^\s*entry +what\n/);
  expect(pages.join('').match(/sealed/g)).toHaveLength(120);
});
