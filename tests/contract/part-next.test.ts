import { expect, it } from 'vitest';
import type { Verdict } from '@setwell/shared-models/score/shape';
import type { Entry } from '@setwell/shared-models/record/entry';
import { decisionsOfPart } from '@setwell/shared-models/record/decisions';
import { partNext, type PartLoad } from '@setwell/shared-models/record/part-next';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';

const hourMs = 3_600_000;
const endMs = Date.parse('2026-03-02T10:00:00Z');

type Of = readonly [decision: string, parts?: string[], more?: object];
const [whole, ofA, ofB]: string[][] = [[], ['a'], ['b']];

/** What its ledger says of a load that was sealed with a verdict, and then decided. */
function entriesOf(verdict: Verdict, of: readonly (Of | Verdict)[]): Entry[] {
  const entry = (kind: string, n: number, body: object) =>
    ({ n, at: endMs + n * 60_000, kind, by: 'p-1', body }) as unknown as Entry;
  return [
    entry('load-sealed', 1, { verdict }),
    ...of.map((each, i) => {
      if (typeof each === 'string') return entry('load-amended', i + 2, { verdict: each });
      const [decision, parts = [], more = {}] = each;
      return entry('disposition', i + 2, { decision, parts, reason: 'looked at', ...more });
    }),
  ];
}

/** A load of the parts a, b and c, as it is for one of them. */
function load(part: string, name: string, verdict: Verdict, ...of: (Of | Verdict)[]): PartLoad {
  const decisions = decisionsOfPart(entriesOf(verdict, of), part);
  const amended = of.filter((each) => typeof each === 'string').at(-1);
  const startMs = name === 'R-1' ? endMs - hourMs / 2 : endMs - hourMs;
  return {
    ...{ load: name, state: 'sealed', verdict: amended ?? verdict },
    ...{ startMs, endMs, decisions },
  } as PartLoad;
}

const pressed = load('a', 'P1-1', 'in-window');

function recipe(text: string) {
  const read = readRecipe(text, 'recipe.yaml');
  if (!read.ok) throw new Error(JSON.stringify(read.findings));
  return read.value;
}

const law =
  'law: { form: equivalent-time, referenceC: 60, activationEnergyJPerMol: 70000, source: L-2 }';
const coat = recipe(`
id: coat
kind: oven
title: Coat 3
${law}
coat: 3
window: { step: { least: 10, most: 50, source: L-2 } }
recoatH: { least: 2, most: 16 }
part: { follows: air }
`);
const rested = recipe(`
id: frame
kind: rack
title: Frame
${law}
window: { least: 90, most: none, mostNone: it does no harm, source: L-2 }
part: { follows: air }
requirements:
  - { kind: rest, minMin: 30, coveredBy: measured, source: L-2 }
`);

it('is in its station while its last load runs', () => {
  const running: PartLoad = { ...pressed, load: 'R-1', state: 'open', endMs: null };
  expect(partNext([pressed, running], null)).toEqual({ what: 'in', load: 'R-1' });
});

it('is held by an earlier load, whatever came later; another part of it is not', () => {
  const next = (part: string) =>
    partNext(
      [load(part, 'P1-1', 'in-window', ['hold', ofA]), load(part, 'R-1', 'in-window')],
      null,
    );
  expect(next('a')).toMatchObject({ what: 'held', load: 'P1-1', decided: { decision: 'hold' } });
  expect(next('b')).toEqual({ what: 'free', load: 'R-1' });
  const lifted = load('a', 'P1-1', 'in-window', ['hold', whole], ['release', ofB]);
  expect(partNext([lifted], null)).toMatchObject({ what: 'held' });
});

it('waits for a decision where it came out otherwise and nobody has said', () => {
  const waits = { what: 'undecided', load: 'P1-1', verdict: 'under' };
  expect(partNext([load('a', 'P1-1', 'under')], null)).toEqual(waits);
  const of = (part: string, ...decided: Of[]) =>
    partNext([load(part, 'P1-1', 'under', ...decided)], null);
  expect(of('a', ['release', whole])).toMatchObject({ what: 'released', load: 'P1-1' });
  expect(of('a', ['release', ofA])).toMatchObject({ what: 'released' });
  expect(of('b', ['release', ofA])).toEqual(waits);
  expect(of('b', ['rework', ofA])).toEqual(waits);
});

it('keeps its own newest decision, whatever was decided of others since', () => {
  const of = (part: string, ...decided: Of[]) =>
    partNext([load(part, 'P1-1', 'under', ...decided)], null)?.what;
  expect(of('a', ['scrap', ofA], ['release', ofB])).toBe('scrapped');
  expect(of('a', ['scrap', ofA], ['rework', ofB])).toBe('scrapped');
  expect(of('a', ['re-press', ofA], ['rework', ofB])).toBe('re-press');
  expect(of('a', ['release', ofA], ['scrap', ofB])).toBe('released');
  expect(of('a', ['scrap', ofA], ['release', ofA])).toBe('released');
});

it('waits still for an earlier load, however well a later one came out', () => {
  const later = load('a', 'R-1', 'in-window');
  const waits = { what: 'undecided', load: 'P1-1', verdict: 'under' };
  expect(partNext([load('a', 'P1-1', 'under'), later], coat)).toEqual(waits);
  const worse = load('a', 'P1-1', 'unproven', ['release', ofA], ['rework', ofB], 'under');
  expect(partNext([worse, later], null)).toEqual(waits);
  const once = load('a', 'P1-1', 'in-window', ['scrap', ofA, { needsSecond: true }]);
  expect(partNext([once, later], null)).toMatchObject({ what: 'undecided', load: 'P1-1' });
});

it('is gone once it is scrapped, and goes back where that was decided and it has not been', () => {
  const later = load('a', 'R-1', 'in-window');
  expect(partNext([load('a', 'P1-1', 'in-window', ['scrap', ofA]), later], null)).toMatchObject({
    what: 'scrapped',
    load: 'P1-1',
  });
  const again = load('a', 'P1-1', 'under', ['re-press', whole]);
  expect(partNext([again], null)).toMatchObject({ what: 're-press' });
  // Decided after the later load had begun.
  expect(partNext([again, later], coat)).toMatchObject({ what: 're-press', load: 'P1-1' });
  const since = { ...later, startMs: endMs + hourMs };
  expect(partNext([again, since], null)).toEqual({ what: 'free', load: 'R-1' });
  const passed = load('a', 'P1-1', 'under', ['concession', ofA]);
  expect(partNext([passed, later], null)).toMatchObject({ what: 'released', load: 'P1-1' });
});

it('may be coated again from the least to the most of its recipe, and rests as long as it asks', () => {
  expect(partNext([pressed], coat)).toEqual({
    ...{ what: 'recoat', load: 'P1-1', coat: 4 },
    ...{ fromMs: endMs + 2 * hourMs, toMs: endMs + 16 * hourMs },
  });
  expect(partNext([pressed], rested)).toEqual({
    ...{ what: 'rest', load: 'P1-1', coat: null },
    ...{ fromMs: endMs + hourMs / 2, toMs: null },
  });
});

it('is free where nothing of its heat keeps it; a part of no load is nobody’s', () => {
  expect(partNext([pressed], null)).toEqual({ what: 'free', load: 'P1-1' });
  expect(partNext([], null)).toBeNull();
});
