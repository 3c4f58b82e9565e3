import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, describe, expect, it, onTestFinished } from 'vitest';
import { openLedgerIndex } from '@setwell/collector/ledger/ledger-index';
import type { StoredEntry } from '@setwell/collector/ledger/shape';
import type { LoadCorrected, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { Entry, EntryKind } from '@setwell/shared-models/record/entry';
import { openWorks, startMs, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

const dayMs = 86_400_000;

/** As much of a ledger as an index asks for. */
class Entries {
  readonly all: Entry[] = [];

  add(kind: EntryKind, about: Entry['about'], body: object = {}): Entry {
    const n = this.all.length;
    const told = { v: 1 as const, log: 'works/c1/1', n, at: startMs + n, by: 'p-1', cites: [] };
    const entry: Entry = { ...told, kind, about, body };
    this.all.push(entry);
    return entry;
  }

  entriesAfter(n: number, limit: number): StoredEntry[] {
    return this.all.slice(n + 1, n + 1 + limit).map((entry) => {
      const text = JSON.stringify(entry);
      return { n: entry.n, bytes: Buffer.from(text), leaf: text };
    });
  }
}

const begun = (load: string, lot: string) => ({
  ...{ load, lot, station: 'press-1', opening: null },
  event: { seq: 1, index: 0 },
});

function file(): string {
  const folder = mkdtempSync(join(tmpdir(), 'index-'));
  onTestFinished(() => rmSync(folder, { recursive: true }));
  return join(folder, 'ledger-index.db');
}

function opened(path: string, ledger: Entries) {
  const index = openLedgerIndex(path, ledger);
  onTestFinished(() => index.close());
  return index;
}

const loads = ['P1-1', 'P1-2', 'P1-3'];
const lots = ['K-1', 'K-2'];
const load = fc.constantFrom(...loads);
const lot = fc.constantFrom(...lots);
type Said = ['opened' | 'moved' | 'of load', string, string] | ['names', string[]];
const said = fc.oneof<fc.Arbitrary<Said>[]>(
  fc.tuple(fc.constantFrom('opened' as const, 'moved' as const, 'of load' as const), load, lot),
  fc.tuple(fc.constant('names' as const), fc.subarray(lots, { minLength: 1 })),
);

/** Entries of a lot from their meaning: those that name it, and those of its loads while they are in it. */
function meant(all: readonly Said[], wanted: string): number[] {
  const told = new Set<number>();
  const now = new Map<string, string>();
  for (const [n, what] of all.entries()) {
    if (what[0] === 'names') {
      if (what[1].includes(wanted)) told.add(n);
      continue;
    }
    const [kind, name, other] = what;
    const before = now.get(name);
    if (kind === 'opened' && before === undefined) now.set(name, other);
    if (kind === 'moved' && before !== undefined) now.set(name, other);
    const comesIn = now.get(name) === wanted && before !== wanted;
    const ofLoad = all.slice(0, n + 1).flatMap((each, at) => {
      const began = all.findIndex(([k, of]) => k === 'opened' && of === name);
      return each[1] === name && began !== -1 && at >= began ? [at] : [];
    });
    if (comesIn) for (const at of ofLoad) told.add(at);
    else if (before === wanted) told.add(n);
  }
  return [...told].sort((a, b) => a - b);
}

function record(ledger: Entries, [kind, ...rest]: Said, known: Set<string>): Entry {
  if (kind === 'names') return ledger.add('legal-hold-set', { lots: rest[0] as string[] });
  const [name, of] = rest as [string, string];
  if (kind === 'opened' && !known.has(name)) {
    known.add(name);
    return ledger.add('load-opened', { load: name }, begun(name, of));
  }
  if (kind === 'moved') {
    const change: LoadCorrected['change'] = { what: 'lot', lot: of, parts: [] };
    return ledger.add('load-corrected', { load: name }, { load: name, change });
  }
  return ledger.add('advice-changed', { load: name });
}

describe('the index of a ledger', () => {
  it('has of a lot what names it and what is told of its loads, wherever it stops between', () => {
    const sequence = fc.array(said, { maxLength: 30 });
    fc.assert(
      fc.property(sequence, fc.nat(30), (all, stop) => {
        const folder = mkdtempSync(join(tmpdir(), 'index-'));
        const path = join(folder, 'ledger-index.db');
        try {
          const ledger = new Entries();
          const known = new Set<string>();
          const first = openLedgerIndex(path, ledger);
          for (const each of all.slice(0, stop)) first.hear([record(ledger, each, known)]);
          first.close();
          for (const each of all.slice(stop)) record(ledger, each, known);
          const index = openLedgerIndex(path, ledger);
          const found = lots.map((each) => index.entriesOf(each));
          index.close();
          expect(found).toEqual(lots.map((each) => meant(all, each)));
        } finally {
          rmSync(folder, { recursive: true });
        }
      }),
      { numRuns: 60, seed: 1 },
    );
  });

  it('of another ledger, or of an end that this one never had, is made anew', () => {
    const path = file();
    const lost = new Entries();
    lost.add('load-opened', { load: 'P1-1' }, begun('P1-1', 'K-1'));
    lost.add('load-sealed', { load: 'P1-1' });
    openLedgerIndex(path, lost).close();
    const restored = new Entries();
    restored.add('load-opened', { load: 'P1-1' }, begun('P1-1', 'K-1'));
    restored.add('load-opened', { load: 'P1-2' }, begun('P1-2', 'K-2'));
    const index = opened(path, restored);
    expect(index.entriesOf('K-1')).toEqual([0]);
    expect(index.entriesOf('K-2')).toEqual([1]);
    restored.all.pop();
    expect(opened(path, restored).lots()).toEqual(['K-1']);
  });

  it('takes an entry that is told twice once', () => {
    const ledger = new Entries();
    const index = opened(file(), ledger);
    const entry = ledger.add('load-opened', { load: 'P1-1' }, begun('P1-1', 'K-1'));
    index.hear([entry]);
    index.hear([entry]);
    expect(index.entriesOfLoad('P1-1')).toEqual([0]);
  });
});

describe('a load that was sealed weeks ago', () => {
  let works: Works;
  afterEach(() => works.end());

  const wished = { lot: 'K-1', recipe: 'shell-13ply' };
  const press = (name: string, more: object = {}) => {
    works.event('load-start', { load: name, ...wished, ...more });
    works.press(8, usualFaceC);
    works.event('load-end', { load: name });
    works.press(1, () => 138);
  };
  const refused = () =>
    works.entries('call-raised').map(({ body }) => (body as { values: object }).values);

  /** Another is sealed 15 days later: nothing keeps the first one in memory. */
  function longAgo(): void {
    works = openWorks();
    press('P1-1');
    works.clock.advance(15 * dayMs);
    press('P1-2', { lot: 'K-2' });
    expect(works.entries('load-sealed')).toHaveLength(2);
  }

  it('keeps its name for itself, also after a restart', () => {
    longAgo();
    const isRefused = () =>
      refused().filter((values) => 'code' in values && values.code === 'load-exists').length;
    works.event('load-start', { load: 'P1-1', ...wished });
    expect(isRefused()).toBe(1);
    expect(works.entries('load-opened')).toHaveLength(2);
    works.restart();
    works.clock.advance(60_000);
    works.event('load-start', { load: 'P1-2', ...wished });
    works.event('load-start', { load: 'P1-1', ...wished, zones: ['left'] });
    expect(works.entries('load-opened')).toHaveLength(2);
  });

  it('is amended where a person puts it right, on the account that counts', () => {
    longAgo();
    const change: LoadCorrected['change'] = { what: 'lot', lot: 'K-3', parts: [] };
    const body: LoadCorrected = { load: 'P1-1', reason: 'the wrong card', change };
    const about = { load: 'P1-1', lots: ['K-1'] };
    works.collector.append([{ kind: 'load-corrected', by: 'p-1', about, body }]);
    works.collector.step();
    works.collector.step();
    const [amended] = works.entries('load-amended') as Entry<LoadSealed>[];
    expect(amended?.about.load).toBe('P1-1');
    expect(amended?.body.revision).toBe(2);
    expect(works.collector.lot('K-3')?.loads.map(({ load: name }) => name)).toEqual(['P1-1']);
    expect(works.collector.lot('K-1')?.loads).toEqual([]);
  });
});
