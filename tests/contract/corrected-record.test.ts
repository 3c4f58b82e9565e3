import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it, test, vi } from 'vitest';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { verifyBundle } from '@setwell/collector/verify/verify-bundle';
import type {
  LoadAmended,
  LoadCorrected,
  RecipeApproved,
} from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { LotFile } from '@setwell/shared-models/record/lot-file';
import {
  openWorks,
  plantFile,
  startMs,
  usualFaceC,
  type Works,
} from '../fixtures/press-plant/works.ts';
import { exportedBundle, OpenedBundle } from '../fixtures/pressed-lot.ts';

// Each bundle is computed again in a process of its own.
vi.setConfig({ testTimeout: 120_000 });

/** The usual plant with a second recipe for the press, that asks for more. */
let plant: string;
beforeAll(() => {
  plant = mkdtempSync(join(tmpdir(), 'corrected-record-'));
  cpSync(dirname(plantFile), plant, { recursive: true });
  const shell = readFileSync(join(plant, 'recipes/shell-13ply.yaml'), 'utf8');
  const other = shell.replace('id: shell-13ply', 'id: shell-b').replace('least: 6', 'least: 7');
  writeFileSync(join(plant, 'recipes/shell-b.yaml'), other);
});
afterAll(() => rmSync(plant, { recursive: true }));

let works: Works;
afterEach(() => works.end());

/** A load goes in, as `start` says; when it has been in for 24 min it comes out and is sealed. */
function pressed(load: string, start: object, whileIn: () => void = () => {}): void {
  works.event('load-start', { load, ...start });
  whileIn();
  works.press(24, usualFaceC);
  works.event('load-end', { load });
  works.press(1, () => 138);
}

/** What a person puts right, as the act on the lot that the load was in says it. */
function correct(load: string, lot: string, change: LoadCorrected['change']): void {
  const body: LoadCorrected = { load, reason: 'the wrong card', change };
  const about = { station: 'press-1', load, startMs, ...(lot === '' ? {} : { lots: [lot] }) };
  works.collector.append([{ kind: 'load-corrected', by: 'p-1', about, body }]);
  works.collector.step();
  works.collector.step();
}

function release(load: string, lot: string): void {
  const body = { decision: 'release', reason: 'as proven', onRevision: 1 };
  const about = { station: 'press-1', load, lots: [lot] };
  works.collector.append([{ kind: 'disposition', by: 'p-2', about, body }]);
  works.collector.step();
}

const loadsOf = (lot: string) =>
  works.collector.lot(lot)!.loads.map(({ load, state, verdict }) => [load, state, verdict]);

async function verified(lot: string) {
  const zip = await exportedBundle(works, lot);
  return verifyBundle(zip, { key: null, since: null, nowMs: Date.now() }, releasedModels());
}

const whole = { authentic: true, complete: true, recomputed: true, findings: [] };

describe.each(['', 'K-118'])('a load of lot %j that is put into K-9', (before) => {
  const named = before === '' ? {} : { lot: before };
  const correction: LoadCorrected['change'] = { what: 'lot', lot: 'K-9', parts: ['K-9-01'] };

  it('while it is in: stands in the file of K-9 from its start on, and in no other', async () => {
    works = openWorks(plant + '/plant.yaml');
    pressed('P1-1', { ...named, recipe: 'shell-13ply' }, () => correct('P1-1', before, correction));
    release('P1-1', 'K-9');
    expect(loadsOf('K-9')).toEqual([['P1-1', 'sealed', 'in-window']]);
    const file = works.collector.lot('K-9')!;
    expect(file).toMatchObject({ state: 'released', loads: [{ parts: ['K-9-01'] }] });
    expect(file.entries[0]?.kind).toBe('load-opened');
    expect(file.filed).toHaveLength(1);
    expect(works.collector.lot(before)).toMatchObject({ state: 'in-work', loads: [] });
    await works.collector.stop();
    expect(await verified('K-9')).toMatchObject({
      ...{ ...whole, verdict: 'in-window' },
      loads: [{ load: 'P1-1', recomputed: true }],
    });
    if (before === '') return;
    expect(await verified(before)).toMatchObject({ ...whole, verdict: null, loads: [] });
  });

  it('after its seal: both are found whole, and what it was computed from stands in both', async () => {
    works = openWorks(plant + '/plant.yaml');
    pressed('P1-1', { ...named, recipe: 'shell-13ply' });
    correct('P1-1', before, correction);
    expect(loadsOf('K-9')).toEqual([['P1-1', 'sealed', 'in-window']]);
    expect(loadsOf(before)).toEqual([]);
    await works.collector.stop();
    expect(await verified('K-9')).toMatchObject({ ...whole, verdict: 'in-window' });
    if (before === '') return;
    expect(await verified(before)).toMatchObject({
      ...{ ...whole, verdict: null },
      loads: [{ load: 'P1-1', recomputed: true }],
    });
  });
});

test('a lot that was filed with a load is filed anew without it when the load is put elsewhere', () => {
  works = openWorks();
  pressed('P1-1', { lot: 'K-118', recipe: 'shell-13ply' });
  release('P1-1', 'K-118');
  correct('P1-1', 'K-118', { what: 'lot', lot: 'K-9', parts: [] });
  const filed = works.entries('lot-filed').map(({ body }) => body);
  expect(filed).toMatchObject([
    { lot: 'K-118', revision: 1, loads: [{ load: 'P1-1' }] },
    { lot: 'K-118', revision: 2, because: 'load-changed', loads: [] },
  ]);
});

test('a load that comes back into its lot is there once, with all that was said of it', () => {
  works = openWorks();
  pressed('P1-1', { lot: 'K-118', recipe: 'shell-13ply' });
  correct('P1-1', 'K-118', { what: 'lot', lot: 'K-9', parts: [] });
  correct('P1-1', 'K-9', { what: 'lot', lot: 'K-118', parts: [] });
  expect(loadsOf('K-118')).toEqual([['P1-1', 'sealed', 'in-window']]);
  expect(loadsOf('K-9')).toEqual([]);
  const numbers = works.collector.lot('K-118')!.entries.map(({ n }) => n);
  const ofLoad = works.entries().filter(({ about }) => about.load === 'P1-1');
  expect(numbers).toEqual(ofLoad.map(({ n }) => n));
});

describe('a recipe that is put right after the seal', () => {
  const other = () =>
    works
      .entries('recipe-approved')
      .map(({ body }) => (body as RecipeApproved).recipe)
      .find(({ id }) => id === 'shell-b')!;

  it.each<[string, object, string[]]>([
    ['from another', { recipe: 'shell-13ply' }, ['shell-13ply', 'shell-b']],
    ['from none', {}, ['shell-b']],
  ])('%s: each account stands with the one it was judged by', async (_what, start, recipes) => {
    works = openWorks(plant + '/plant.yaml');
    pressed('P1-1', { lot: 'K-118', ...start });
    correct('P1-1', 'K-118', { what: 'recipe', recipe: other() });
    const amended = works.entries('load-amended') as Entry<LoadAmended>[];
    expect(amended).toHaveLength(1);
    await works.collector.stop();
    expect(await verified('K-118')).toMatchObject({ ...whole, verdict: 'in-window' });
    const bundle = new OpenedBundle(await exportedBundle(works, 'K-118'));
    const file = JSON.parse(bundle.text('lot.json')) as LotFile;
    expect(file.loads).toMatchObject([{ recipe: { id: 'shell-b' }, window: { least: 7 } }]);
    const told = file.loads[0]!.revisions.map(({ recipe }) => recipe?.id);
    expect(told.filter((id) => id !== undefined)).toEqual(recipes);
    const yaml = bundle.text(`loads/${String(amended[0]!.n)}/recipe.yaml`);
    expect(yaml).toContain('id: shell-b');
    const approved = bundle.entries().filter(({ kind }) => kind === 'recipe-approved');
    expect(approved.map(({ body }) => (body as RecipeApproved).recipe.id)).toEqual(recipes);
  });
});

test('a start that was taken back stands in the file as that, with who and why, and as no load', async () => {
  works = openWorks();
  works.event('load-start', { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' });
  correct('P1-1', 'K-118', { what: 'void' });
  pressed('P1-2', { lot: 'K-118', recipe: 'shell-13ply' });
  const file = works.collector.lot('K-118')!;
  expect(file.loads.map(({ load }) => load)).toEqual(['P1-2']);
  expect(file.takenBack).toMatchObject([{ load: 'P1-1', by: 'p-1', reason: 'the wrong card' }]);
  await works.collector.stop();
  expect(await verified('K-118')).toMatchObject({ ...whole, loads: [{ load: 'P1-2' }] });
});

test('marks that are put right are the ones in the file', async () => {
  works = openWorks();
  pressed('P1-1', { lot: 'K-118', recipe: 'shell-13ply' });
  const { marks, endMs } = works.collector.lot('K-118')!.loads[0]!;
  const earliestMs = marks.pressureOn.earliestMs + 60_000;
  const pressureOn = { earliestMs, latestMs: earliestMs };
  correct('P1-1', 'K-118', { what: 'marks', marks: { pressureOn }, endMs: null });
  expect(works.collector.lot('K-118')!.loads).toMatchObject([
    { startMs: earliestMs, endMs, revision: 2, marks: { ...marks, pressureOn } },
  ]);
  await works.collector.stop();
  expect(await verified('K-118')).toMatchObject(whole);
});
