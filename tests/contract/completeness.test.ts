import { describe, expect, it } from 'vitest';
import type { Entry, EntryKind } from '@setwell/shared-models/record/entry';
import { settingsThen } from '@setwell/shared-models/record/settings-then';
import { hourMs, numberGaps, stationHours } from '@setwell/shared-models/record/completeness';

describe('load numbers', () => {
  it('are whole where each follows the one before', () => {
    const loads = ['P1-00231', 'P1-00233', 'P1-00232', 'RA-7', 'RA-8'];
    expect(numberGaps(loads)).toEqual([
      {
        series: 'P1-00000',
        from: 'P1-00231',
        to: 'P1-00233',
        seen: 3,
        missing: [],
        missingCount: 0,
      },
      { series: 'RA-', from: 'RA-7', to: 'RA-8', seen: 2, missing: [], missingCount: 0 },
    ]);
  });

  it('name what is missing between the first and the last', () => {
    const [gap] = numberGaps(['P1-00228', 'P1-00232']);
    expect(gap).toMatchObject({ missing: ['P1-00229', 'P1-00230', 'P1-00231'], missingCount: 3 });
  });

  it('go over a power of ten, and do not mix names of another kind', () => {
    expect(numberGaps(['RA-9', 'RA-11'])[0]?.missing).toEqual(['RA-10']);
    expect(numberGaps(['P1-00001', 'P2-00003', 'by hand', 'x'])).toEqual([]);
    // A jump of more than a thousand is another counter.
    expect(numberGaps(['A-1', 'A-2', 'A-90000'])[0]).toMatchObject({ seen: 3, missingCount: 0 });
  });

  it('list a hundred of many', () => {
    const [gap] = numberGaps(['A-1', 'A-502']);
    expect([gap?.missing.length, gap?.missingCount]).toEqual([100, 500]);
  });
});

describe('rights and recipes as they were then', () => {
  const entry = (n: number, kind: EntryKind, body: object): Entry => ({
    ...{ v: 1 as const, log: 'site/c1/1', n, at: n, kind, by: 'p-1', about: {}, cites: [], body },
  });
  const granted = (person: string, jobs: string[], endsMs: number | null = null) => ({
    ...{ person, jobs, halls: null, endsMs },
  });
  const recipe = (id: string, revision: number) => ({ recipe: { id, revision, sha256: '' } });
  const entries = [
    entry(1, 'person-granted', granted('p-2', ['shift-lead'])),
    entry(2, 'person-granted', granted('p-3', ['auditor'], 50)),
    entry(3, 'recipe-approved', recipe('shell', 1)),
    entry(4, 'recipe-approved', recipe('shell', 2)),
    entry(5, 'person-granted', granted('p-2', ['engineer'])),
    entry(6, 'recipe-approved', recipe('top-coat', 1)),
    entry(7, 'recipe-withdrawn', recipe('top-coat', 1)),
    entry(8, 'person-granted', granted('p-4', ['engineer'])),
    entry(9, 'person-revoked', { person: 'p-4' }),
  ];

  it('are those that stood at that moment: newest grant, newest approval, ended and withdrawn ones gone', () => {
    const then = settingsThen(entries, 40);
    expect(then.rights.map(({ person, jobs, sinceN }) => [person, jobs, sinceN])).toEqual([
      ['p-2', ['engineer'], 5],
      ['p-3', ['auditor'], 2],
    ]);
    expect(then.recipes).toEqual([{ id: 'shell', revision: 2, by: 'p-1', sinceN: 4 }]);
    expect(settingsThen(entries, 60).rights.map(({ person }) => person)).toEqual(['p-2']);
    expect(settingsThen(entries.slice(0, 3), 3).recipes[0]?.revision).toBe(1);
  });
});

describe('hours of a station', () => {
  const at = Date.parse('2026-03-02T06:00:00Z');
  const states = (
    loads: Parameters<typeof stationHours>[2],
    out: Parameters<typeof stationHours>[3],
    warm: (number | null | undefined)[],
    heats = true,
  ) =>
    stationHours(at, at + warm.length * hourMs, loads, out, (ms) => warm[(ms - at) / hourMs], heats)
      .map(({ state }) => state)
      .join(' ');

  it('are each one thing, none left out', () => {
    const loads = [{ id: 'P1-1', startMs: at + 1.5 * hourMs, endMs: at + 2 * hourMs }];
    const out = [{ fromMs: at + 4 * hourMs, toMs: at + 5 * hourMs }];
    expect(states(loads, out, [20, 138, 138, 30, null, null, undefined])).toBe(
      'empty load heating empty out-of-service no-readings read',
    );
  });

  it('tell heat right beside a load from heat that no load explains', () => {
    const loads = [{ id: 'P1-1', startMs: at + 2 * hourMs, endMs: at + 3 * hourMs }];
    expect(states(loads, [], [138, 138, 138, 138, 138, 20])).toBe(
      'hot heating load heating hot empty',
    );
  });

  it('begin on the hour, and a load that runs lies in all to come', () => {
    const open = [{ id: 'P1-2', startMs: at + hourMs, endMs: null }];
    const hours = stationHours(at + 1000, at + 3 * hourMs, open, [], () => 20, true);
    expect(hours.map(({ fromMs, loads }) => [(fromMs - at) / hourMs, loads.length])).toEqual([
      [0, 0],
      [1, 1],
      [2, 1],
    ]);
  });

  it('tell of heat although the station is out of service, and not of a warm rack', () => {
    const out = [{ fromMs: at, toMs: at + hourMs }];
    expect(states([], out, [120])).toBe('hot');
    expect(states([], [], [60], false)).toBe('empty');
  });
});
