import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { parse } from 'csv-parse/sync';
import { runSetwell } from '@setwell/collector/cli/program';
import { localTime } from '@setwell/collector/export/local-time';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { LotFile } from '@setwell/shared-models/record/lot-file';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

// A load is computed a few dozen times first.
vi.setConfig({ testTimeout: 60_000 });

let works: Works;
let folder: string;

beforeEach(() => {
  works = openWorks();
  folder = mkdtempSync(join(tmpdir(), 'export-lot-'));
});

afterEach(async () => {
  await works.end();
  rmSync(folder, { recursive: true });
});

/** A lot whose name a spreadsheet would take for a formula. */
const lot = '=cmd|1';

async function exported(as: 'json' | 'csv', more: string[] = []): Promise<string> {
  const told: string[] = [];
  const words = ['export', 'lot', lot, '--out', folder, '--as', as, '--data', works.dataDir];
  const code = await runSetwell([...words, ...more], {
    out: (text) => void told.push(text),
    err: (text) => void told.push(text),
  });
  expect({ code, told }).toMatchObject({ code: 0 });
  return readFileSync(join(folder, `lot.${as}`), 'utf8');
}

test('the file of a lot holds its loads, places, digests and entries, and reads the same twice', async () => {
  works.event('load-start', { load: 'P1-1', lot, recipe: 'shell-13ply' });
  works.press(24, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  works.press(0.5, () => 138);
  works.event('load-start', { load: 'P1-2', lot, recipe: 'shell-13ply' });
  const text = await exported('json');
  const file = JSON.parse(text) as LotFile;
  expect(text).toBe(canonicalJson(file));
  const [first, second] = file.loads;
  expect(first).toMatchObject({ load: 'P1-1', state: 'sealed', verdict: 'in-window' });
  expect(second).toMatchObject({ load: 'P1-2', state: 'open', places: [] });
  expect(first?.places).toHaveLength(12);
  const readings = works.collector.ledger.blob(first?.readings?.sha256 ?? '');
  expect(readings?.toString('utf8')).toMatch(/^point,t_ms,value\np1-ll,\d+,\d/);
  expect(file.entries.map(({ kind }) => kind)).toContain('load-sealed');
  expect(file.entries.every(({ about }) => about.lots?.includes(lot))).toBe(true);

  const rows: Record<string, string>[] = parse(await exported('csv'), { columns: true, bom: true });
  expect(rows).toHaveLength(13);
  expect(rows[0]).toMatchObject({ load: 'P1-1', glue_line: '1', unit: 'min', least: '6' });
  expect(rows[0]?.['lot']).toBe(`'${lot}`);
  expect(rows.filter(({ worst }) => worst === 'yes').map(({ glue_line }) => glue_line)).toEqual([
    '6',
  ]);
  expect(rows[0]).toMatchObject({
    start_utc: '2026-03-02T08:40:00.000Z',
    start_local: '2026-03-02T09:40:00+01:00',
  });

  const german = await exported('csv', ['--language', 'de']);
  expect(german.startsWith('\u{feff}lot;load;')).toBe(true);
  const germanRows: Record<string, string>[] = parse(german, {
    ...{ columns: true as const, bom: true, delimiter: ';' },
  });
  expect(germanRows).toHaveLength(13);
  expect(germanRows[0]?.['depth_mm']).toBe('1,5');
  expect(germanRows.map(({ low }) => low?.replace(',', '.'))).toEqual(rows.map(({ low }) => low));
  expect(germanRows[0]?.['lot']).toBe(`'${lot}`);
});

test('a lot nobody has recorded is refused, naming it', async () => {
  const told: string[] = [];
  const words = ['export', 'lot', 'K-999', '--out', folder, '--data', works.dataDir, '--json'];
  const code = await runSetwell(words, { out: (text) => void told.push(text), err: () => {} });
  expect(code).toBe(2);
  expect(JSON.parse(told.join(''))).toMatchObject({
    error: { code: 'no-such-lot', field: 'lot', found: 'K-999' },
  });
});

test('the doubled hour of an autumn night stands with its offset', () => {
  const zone = 'Europe/Copenhagen';
  const first = Date.parse('2026-10-25T00:30:00Z');
  expect(localTime(first, zone)).toBe('2026-10-25T02:30:00+02:00');
  expect(localTime(first + 3_600_000, zone)).toBe('2026-10-25T02:30:00+01:00');
});
