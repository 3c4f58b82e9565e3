import { afterEach, beforeEach, describe, expect, it, test } from 'vitest';
import { ViewDb } from '@setwell/dashboard/server/view-db';
import { numberGaps } from '@setwell/shared-models/record/completeness';
import type { LoadCorrected, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { Entry, EntryKind } from '@setwell/shared-models/record/entry';
import { openWorks, startMs, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
let view: ViewDb;
beforeEach(() => {
  works = openWorks();
  view = new ViewDb(':memory:');
});
afterEach(async () => {
  view.close();
  await works.end();
});

/** The view follows all that the ledger says. */
function followed(): ViewDb {
  const stored = works.collector.ledger.entriesAfter(-1, 100_000);
  view.fold(stored.map(({ bytes }) => bytes.toString('utf8')));
  return view;
}

function pressed(load: string, lot: string): void {
  works.event('load-start', { load, lot, recipe: 'shell-13ply' });
  works.press(2, usualFaceC);
  works.event('load-end', { load });
  works.press(3, usualFaceC);
}

function correct(load: string, lot: string, change: LoadCorrected['change']): void {
  const body: LoadCorrected = { load, reason: 'the wrong card', change };
  const about = { station: 'press-1', load, startMs, lots: [lot] };
  works.collector.append([{ kind: 'load-corrected', by: 'p-1', about, body }]);
  works.collector.step();
}

const told = (lot: string) =>
  followed()
    .entriesOfLot(lot)
    .map(({ n }) => n);
const recorded = (lot: string) => works.collector.lot(lot)!.entries.map(({ n }) => n);

describe('the trail of a lot on the screen', () => {
  it('has who acknowledged a call of its load, although that entry names no lot', () => {
    pressed('P1-1', 'K-118');
    const [call] = works.entries('call-raised');
    const about = { call: call!.about.call!, station: 'press-1', load: 'P1-1' };
    const body = { note: null };
    works.collector.append([{ kind: 'call-acknowledged', by: 'p-1', about, body }]);
    expect(told('K-118')).toEqual(recorded('K-118'));
    const kinds = followed()
      .entriesOfLot('K-118')
      .map(({ kind }) => kind);
    expect(kinds).toContain('call-acknowledged');
  });

  it('goes along with a load that is put into another lot, and ends for the one it leaves', () => {
    pressed('P1-1', 'K-118');
    correct('P1-1', 'K-118', { what: 'lot', lot: 'K-9', parts: [] });
    pressed('P1-2', 'K-118');
    correct('P1-2', 'K-118', { what: 'lot', lot: 'K-9', parts: [] });
    correct('P1-2', 'K-9', { what: 'lot', lot: 'K-118', parts: [] });
    for (const lot of ['K-118', 'K-9']) expect([lot, told(lot)]).toEqual([lot, recorded(lot)]);
  });
});

describe('what a period holds', () => {
  it('has the number of a start that was taken back; no sample draws it', () => {
    for (const load of ['P1-1', 'P1-2', 'P1-3']) {
      if (load !== 'P1-2') pressed(load, 'K-118');
      else {
        works.event('load-start', { load, lot: 'K-118', recipe: 'shell-13ply' });
        correct(load, 'K-118', { what: 'void' });
      }
    }
    const names = followed().loadNames(0, Infinity);
    expect(numberGaps(names)).toMatchObject([{ seen: 3, missingCount: 0 }]);
    expect(view.endedNames(0, Infinity).sort()).toEqual(['P1-1', 'P1-3']);
  });

  it('is looked at to the last load, however many there are; of lists too long the newest are shown', () => {
    pressed('P1-1', 'K-118');
    const [opened] = works.entries('load-opened');
    const [sealed] = works.entries('load-sealed');
    const { log } = opened!;
    const lines: string[] = [];
    const say = (like: Entry, n: number, load: string, body: object) =>
      lines.push(JSON.stringify({ ...like, log, n, about: { load }, body }));
    for (let i = 0; i < 6_000; i += 1) {
      const load = `P1-${String(10_000 + i)}`;
      // One number was never seen, far behind the newest five thousand.
      if (i === 3) continue;
      say(opened!, 10_000 + 2 * i, load, { ...(opened!.body as object), load });
      say(sealed!, 10_001 + 2 * i, load, { ...(sealed!.body as object), startMs: startMs + i });
    }
    view.fold(lines);
    expect(numberGaps(view.loadNames(0, Infinity))).toMatchObject([
      { seen: 5_999, missing: ['P1-10003'] },
    ]);
    expect(view.endedNames(0, Infinity)).toHaveLength(5_999);
    const { rows, count, isCut } = view.notInWindow(0, Infinity, 500);
    expect({ shown: rows.length, first: rows[0]?.id, count, isCut }).toEqual({
      ...{ shown: 500, first: 'P1-15999', count: 5_999, isCut: true },
    });
    const kinds: EntryKind[] = ['load-sealed'];
    const entries = view.entriesOfKinds(kinds, 0, Infinity, 500);
    expect(entries).toMatchObject({ count: 5_999, isCut: true });
    expect(entries.rows.at(-1)?.about.load).toBe('P1-15999');
  });
});

test('a document whose lot’s time is over is not at hand any more, and neither are the oldest of very many', () => {
  pressed('P1-1', 'K-118');
  const { result } = (works.entries('load-sealed') as Entry<LoadSealed>[])[0]!.body;
  followed().keepBlob(result.sha256, Buffer.from('{}'));
  expect(view.blob(result.sha256)).not.toBeNull();
  const body = { lot: 'K-118', because: 'age', years: 10, documents: 3, bytes: 1 };
  const about = { lots: ['K-118'] };
  works.collector.append([{ kind: 'lot-file-dropped', by: 'collector', about, body }]);
  expect(followed().blob(result.sha256)).toBeNull();
  for (let i = 0; i <= 2_000; i += 1) view.keepBlob(`digest ${String(i)}`, Buffer.from('{}'));
  expect(view.blob('digest 0')).toBeNull();
  expect(view.blob('digest 1')).not.toBeNull();
});
