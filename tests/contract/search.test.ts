import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Searched } from '@setwell/shared-models/api/search';
import { asTyped } from '@setwell/shared-models/plant/scanner-layout';
import { isNearName } from '@setwell/shared-models/plant/near-name';
import { wholeScene } from '../browser/floor-scene.ts';
import { stage, type Stage } from '../browser/harness.ts';
import { until } from '../fixtures/until.ts';

let on: Stage;

const fitted = {
  ...{ instrument: 'TC-0117', serial: 'SN 44-7' },
  certificate: { certificate: 'CAL-2026-09' },
};
const correct = (load: string, change: object) =>
  on.fake.append('load-corrected', { load }, { reason: 'read wrongly', change }, 'p-2');

async function search(text: string, more: Record<string, string> = {}): Promise<Searched> {
  const asked = new URLSearchParams({ text, ...more }).toString();
  return (await (await fetch(`${on.url}/api/v1/search?${asked}`)).json()) as Searched;
}

const foundBy = async (text: string, more?: Record<string, string>): Promise<string[]> =>
  (await search(text, more)).found.map(({ kind, id, at }) => `${kind} ${id} at ${at}`);

beforeAll(async () => {
  on = await stage('/nonexistent', (fake) => {
    wholeScene(fake);
    const points = [
      { point: 'left-u', station: 'press-1', topic: 'plant/press-1/left-u', fitted },
      { point: 'wall-3', station: null, topic: 'plant/room/wall-3', fitted: null },
    ];
    fake.told.set('/instruments', { points });
    fake.append('recipe-approved', {}, { recipe: { id: 'shell-13ply', revision: 4 } });
  });
  correct('P1-00231', { what: 'lot', lot: 'K-118', parts: ['K-118-01', 'K-118-02'] });
  await until(async () => (await foundBy('K-118-02')).length === 1);
});
afterAll(() => on.close());

test('each kind of thing is found by its own name, a capital or not, and by what is written on it', async () => {
  expect(await foundBy('K-118')).toEqual(['lot K-118 at K-118']);
  expect(await foundBy('k-118')).toEqual(['lot K-118 at K-118']);
  expect(await foundBy('P1-00231')).toEqual(['load P1-00231 at P1-00231']);
  expect(await foundBy('K-118-02')).toEqual(['part K-118-02 at K-118']);
  expect(await foundBy('left-u')).toEqual(['point left-u at left-u']);
  expect(await foundBy('TC-0117')).toEqual(['instrument TC-0117 at left-u']);
  expect(await foundBy('SN 44-7')).toEqual(['instrument TC-0117 at left-u']);
  expect(await foundBy('CAL-2026-09')).toEqual(['instrument TC-0117 at left-u']);
  expect(await foundBy('shell-13ply')).toEqual(['recipe shell-13ply at shell-13ply']);
  expect(await foundBy('press-1')).toEqual(['station press-1 at press-1']);
});

test('a part of no lot leads to its newest load: there is no page of a lot without a name', async () => {
  correct('O1-00077', { what: 'lot', lot: '', parts: ['loose-1'] });
  await until(async () => (await search('loose-1')).found.length === 1);
  expect((await search('loose-1')).found).toMatchObject([{ kind: 'part', load: 'O1-00077' }]);
  expect((await search('K-118-02')).found[0]?.load).toBeUndefined();
});

test('what holds the text is listed, lots first; a sign that means anything to a database means itself', async () => {
  const { exact, found } = await search('K-11');
  expect(exact).toBe(false);
  expect(found[0]).toMatchObject({ kind: 'lot' });
  expect(new Set(found.map(({ kind }) => kind))).toEqual(new Set(['lot', 'part']));
  expect(await foundBy('%')).toEqual([]);
  expect(await foundBy('K_118')).toEqual([]);
  expect(await foundBy("K-118' OR '1'='1")).toEqual([]);
});

test('a scanner of another layout is read where one name alone fits, by the device’s own first', async () => {
  for (const layout of ['de', 'fr', 'da'] as const) {
    const typed = asTyped('K-118', layout);
    const { text, found } = await search(typed);
    expect([text, found.map(({ id }) => id)]).toEqual(['K-118', ['K-118']]);
    expect((await search(typed, { layout })).text).toBe('K-118');
  }
});

test('nothing found: lots a slip away are named, in this hall and no further', async () => {
  const { found, near } = await search('K-181');
  expect([found, near.map(({ id }) => id)]).toEqual([[], ['K-118']]);
  expect((await search('no such thing')).near).toEqual([]);
});

test('a slip is one character more, less, other, or two changed places; separators do not count', () => {
  const near = ['K-118', 'K118', 'k 118', 'K-18', 'K-1188', 'K-119', 'K-181', 'J-118'];
  expect(near.filter((asked) => !isNearName(asked, 'K-118'))).toEqual([]);
  const far = ['K-128x', 'K-811', 'L-119', 'K-1', 'K-11888', ''];
  expect(far.filter((asked) => isNearName(asked, 'K-118'))).toEqual([]);
});

test('parts put right are found by their new names, a load taken back by none', async () => {
  correct('P1-00231', { what: 'lot', lot: 'K-777', parts: ['K-777-01'] });
  await until(async () => (await foundBy('K-777-01'))[0] === 'part K-777-01 at K-777');
  expect(await foundBy('K-118-02')).toEqual([]);
  correct('P1-00231', { what: 'void' });
  await until(async () => (await foundBy('P1-00231')).length === 0);
  expect(await foundBy('K-777')).toEqual([]);
});

test('bad questions are refused by name; without the collector the record is searched, and that is said', async () => {
  for (const query of ['', 'text=', 'text=%20', `text=${'x'.repeat(121)}`, 'text=a&layout=xx']) {
    const answer = await fetch(`${on.url}/api/v1/search?${query}`);
    expect([query, answer.status]).toEqual([query, 422]);
  }
  await on.fake.stop();
  const { found, withoutPoints } = await search('S-207');
  expect([found.map(({ kind }) => kind), withoutPoints]).toEqual([['lot'], true]);
});
