import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { Entry } from '@setwell/shared-models/record/entry';
import { answerOf, refusalOf } from '../fixtures/command.ts';
import { openWorks, plantFile, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
beforeEach(() => {
  works = openWorks();
});
afterEach(() => works.end());

function pressed(load: string): void {
  works.event('load-start', { load, lot: 'K-118', recipe: 'shell-13ply' });
  works.press(24, usualFaceC);
  works.event('load-end', { load });
  works.press(3, usualFaceC);
}

test.each(['ledger', 'journal'])(
  'a %s of a form that came later is refused by name at the start, and nothing is changed',
  async (name) => {
    await works.collector.stop();
    const file = join(works.dataDir, `${name}.db`);
    const db = new Database(file);
    db.pragma('user_version = 99');
    db.close();
    const before = readFileSync(file);
    const refusal = await refusalOf(['start', '--plant', plantFile, '--data', works.dataDir]);
    expect(refusal).toMatchObject({ exit: 3, code: 'wrong-version', file: works.dataDir });
    expect(refusal.found).toContain(`${name}.db: ${name} version 99, later than `);
    expect(refusal.expected).toContain('start the version that wrote them');
    expect(readFileSync(file).equals(before)).toBe(true);
  },
);

test('entries and fields that came later stay as they are, and the work goes on beside them', async () => {
  pressed('P1-1');
  const later = {
    kind: 'seen-by-a-later-version',
    by: 'collector',
    about: { load: 'P1-1', lot: 'K-118', station: 'press-1' },
    body: { what: { nobody: ['knows', 1] } },
  } as unknown as Parameters<Works['collector']['append']>[0][number];
  works.collector.append([later]);
  const [kept] = works.entries(later.kind);
  works.restart();
  pressed('P1-2');
  expect(works.entries(later.kind)).toEqual([kept]);
  const sealed = works.entries('load-sealed') as Entry<{ verdict: string }>[];
  expect(sealed.map(({ about, body }) => [about.load, body.verdict])).toEqual([
    ['P1-1', 'in-window'],
    ['P1-2', 'in-window'],
  ]);

  await works.collector.stop();
  const place = ['--data', works.dataDir, '--keys', join(works.dataDir, 'keys')];
  const out = ['--out', works.dataDir, '--by', 'auditor', ...place];
  await answerOf(['export', 'lot', 'K-118', ...out]);
  const bundle = join(works.dataDir, 'K-118.bundle.zip');
  const { document: verified } = await answerOf(['verify', bundle]);
  expect(verified).toMatchObject({ authentic: true, complete: true, findings: [] });
});
