import { join } from 'node:path';
import { expect, onTestFinished, test } from 'vitest';
import { readHistory } from '@setwell/collector/judge/history';
import { LedgerFold } from '@setwell/collector/judge/ledger-fold';
import { keptMs } from '@setwell/collector/judge/load-accounts';
import { olderLoads } from '@setwell/collector/judge/older-loads';
import { openLedgerIndex } from '@setwell/collector/ledger/ledger-index';
import type { LoadCorrected, LoadOpened } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { coatLoad, openOven } from '../fixtures/coated-lot.ts';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

const dayMs = 86_400_000;

function opened(): Works {
  const works = openWorks();
  onTestFinished(() => works.end());
  return works;
}

function press(works: Works, load: string, minutes: number): void {
  works.event('load-start', { load, lot: `K-${load}`, recipe: 'shell-13ply' });
  works.press(minutes, usualFaceC);
  works.event('load-end', { load });
  works.press(1, () => 138);
}

/** What a collector of the same data folder hears when it starts now, and what it would hear of all. */
function folds(works: Works) {
  const { ledger } = works.collector;
  const index = openLedgerIndex(join(works.dataDir, 'ledger-index.db'), ledger);
  onTestFinished(() => index.close());
  const whole = new LedgerFold();
  whole.hear(works.entries());
  const started = new LedgerFold(olderLoads(ledger, index));
  const asked = { recentMs: keptMs + dayMs, bakedMs: 0, bakesNone: ['press-1', 'rack-a'] };
  const heard: number[] = [];
  const history = { ...index.history(asked), untilN: ledger.size() - 1 };
  started.begin(history.answered);
  readHistory(ledger, history, (entries) => {
    heard.push(...entries.map(({ n }) => n));
    started.hear(entries);
  });
  return { whole, started, heard };
}

test('after months a start hears little, and stands where all that was ever said would lead', () => {
  const works = opened();
  const { collector } = works;
  // Of long ago: one that goes on, one taken back, one that somebody was called for, a station taken out.
  works.event('load-start', { load: 'OPEN', lot: 'K-0' });
  const body: LoadCorrected = { load: 'OPEN', reason: 'twice', change: { what: 'void' } };
  collector.append([{ kind: 'load-corrected', by: 'p-1', about: { load: 'OPEN' }, body }]);
  collector.step();
  works.clock.advance(120_000);
  press(works, 'SHORT', 8);
  const service = { state: 'out-of-service', reason: 'belts', untilMs: null };
  collector.append([
    { kind: 'station-set', by: 'p-2', about: { station: 'rack-a' }, body: service },
    { kind: 'person-granted', by: 'p-1', about: {}, body: { person: 'p-7', jobs: [] } },
  ]);
  for (let month = 0; month < 3; month += 1) {
    works.clock.advance(25 * dayMs);
    press(works, `P${String(month)}`, 3);
    const [call] = works
      .entries('call-raised')
      .filter(({ about }) => about.load === `P${String(month)}`);
    const about = { call: call?.about.call ?? '', load: `P${String(month)}` };
    collector.append([{ kind: 'call-cleared', by: 'collector', about, body: { because: 'over' } }]);
  }
  works.event('load-start', { load: 'NOW', lot: 'K-9', recipe: 'shell-13ply' });
  works.press(2, usualFaceC);
  const { whole, started, heard } = folds(works);
  // A third of the loads, and of the two before nothing.
  expect(heard.length).toBeLessThan(works.entries().length / 2);
  const told = works
    .entries()
    .filter(({ about }) => about.load === 'P0' && about.call === undefined);
  expect(told.filter(({ n }) => heard.includes(n))).toEqual([]);
  expect([...started.calls]).toEqual([...whole.calls]);
  expect([...started.calls.values()].map(({ raised }) => raised.load)).toContain('SHORT');
  expect([...started.services]).toEqual([...whole.services]);
  expect([...started.loads]).toEqual([...whole.loads]);
  expect([...started.recipes]).toEqual([...whole.recipes]);
  expect(started.cursor).toEqual(whole.cursor);
  expect(started.lastPerson).toBe(7);
  expect(started.plantSha256).toBe(whole.plantSha256);
  expect([...started.accounts.recent.keys()]).toEqual(['P2']);
  const opening = started.loads.get('NOW')?.opened as LoadOpened;
  expect(started.carriedTo(opening)).toEqual(whole.carriedTo(opening));
  for (const load of ['SHORT', 'P0', 'P1', 'P2', 'NOW', 'NONE']) {
    const known = started.accounts.finished(load);
    expect(known?.sealed.verdict ?? null).toBe(load.startsWith('N') ? null : 'under');
    expect(started.accounts.isVoided(load)).toBe(false);
  }
  expect(started.accounts.isVoided('OPEN')).toBe(true);
});

test('a start of long ago that was taken back, or refused, does not come up again after a quiet month', () => {
  const works = opened();
  const { collector } = works;
  press(works, 'P1', 3);
  // The last that was said of the journal: a start, taken back; then one that is refused, and that is seen.
  works.event('load-start', { load: 'GONE', lot: 'K-2' });
  const body: LoadCorrected = { load: 'GONE', reason: 'twice', change: { what: 'void' } };
  collector.append([{ kind: 'load-corrected', by: 'p-1', about: { load: 'GONE' }, body }]);
  collector.step();
  works.event('load-end', { load: 'NOBODY' });
  const refused = () =>
    works.entries('call-raised').filter(({ about }) => about.call?.startsWith('event-refused'));
  const call = refused()[0]?.about.call ?? '';
  const seen = { by: 'p-1', about: { call }, body: { note: null } };
  collector.append([{ kind: 'call-acknowledged', ...seen }]);
  collector.step();
  works.clock.advance(30 * dayMs);
  const quiet = { beforeMs: works.clock.nowMs(), fromSeq: 1, toSeq: 1, readings: 0 };
  collector.append([{ kind: 'journal-closed', by: 'collector', about: {}, body: quiet }]);
  collector.step();
  const said = works.entries().length;
  const { whole, started } = folds(works);
  expect([...started.loads]).toEqual([...whole.loads]);
  expect([...started.calls]).toEqual([...whole.calls]);
  expect(started.cursor).toEqual(whole.cursor);
  works.restart();
  works.collector.step();
  const since = works.entries().slice(said);
  expect(since.map(({ kind, about }) => [kind, about])).toEqual([]);
  works.clock.advance(60_000);
  works.event('load-end', { load: 'NOBODY' });
  expect(refused()).toHaveLength(2);
});

test('what nobody has decided on in months is called for once, over every restart', () => {
  const works = opened();
  press(works, 'SHORT', 8);
  for (let month = 0; month < 3; month += 1) {
    works.clock.advance(30 * dayMs);
    press(works, `P${String(month)}`, 1);
    works.restart();
    works.clock.advance(60_000);
    works.collector.step();
  }
  const of = (load: string) =>
    works.entries('call-raised').filter(({ about }) => about.load === load);
  expect(of('SHORT').map(({ about }) => about.call)).toEqual(['ended-short.SHORT']);
  expect(works.entries('call-cleared').filter(({ about }) => about.load === 'SHORT')).toEqual([]);
  // The journal is not read again from where nothing was said any more.
  const refused = works.entries('call-raised') as Entry<{ kind: string }>[];
  expect(refused.filter(({ body }) => body.kind === 'event-refused')).toEqual([]);
});

test('coats that were baked weeks apart are summed over all of them, whether it was restarted between or not', () => {
  const sums = [false, true].map((restarts) => {
    const oven = openOven(3);
    onTestFinished(() => oven.end());
    for (const coat of [1, 2, 3]) {
      oven.bake(coat);
      oven.rest(24 * 20);
      if (restarts) oven.works.restart();
    }
    return oven.account(coatLoad(3)).entry.body;
  });
  expect(sums[1]?.input.sha256).toBe(sums[0]?.input.sha256);
  expect(sums[1]?.result.sha256).toBe(sums[0]?.result.sha256);
});
