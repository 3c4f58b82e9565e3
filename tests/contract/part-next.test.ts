import { expect, it } from 'vitest';
import { undecided, type Decided } from '@setwell/shared-models/record/decisions';
import { partNext, type PartLoad } from '@setwell/shared-models/record/part-next';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';

const hourMs = 3_600_000;
const endMs = Date.parse('2026-03-02T10:00:00Z');

const pressed: PartLoad = {
  load: 'P1-1',
  state: 'sealed',
  verdict: 'in-window',
  endMs,
  parts: ['a', 'b'],
  decisions: undecided,
};

function decided(decision: Decided['decision'], parts: string[] = []): Decided {
  return {
    ...{ decision, parts, reason: 'looked at', onRevision: null, untilMs: null, rule: null },
    ...{ needsSecond: false, seconds: null, by: 'p-1', atMs: endMs, n: 7 },
  };
}

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
  expect(partNext('a', [pressed, running], null)).toEqual({ what: 'in', load: 'R-1' });
});

it('is held by an earlier load, whatever came later; another part of it is not', () => {
  const hold = decided('hold', ['a']);
  const held: PartLoad = { ...pressed, verdict: 'under', decisions: { ...undecided, hold } };
  const later: PartLoad = { ...pressed, load: 'R-1' };
  expect(partNext('a', [held, later], null)).toEqual({ what: 'held', load: 'P1-1', decided: hold });
  expect(partNext('b', [held, later], null)).toEqual({ what: 'free', load: 'R-1' });
});

it('waits for a decision where it came out otherwise and nobody has said', () => {
  const short: PartLoad = { ...pressed, verdict: 'under' };
  const waits = { what: 'undecided', load: 'P1-1', verdict: 'under' };
  expect(partNext('a', [short], null)).toEqual(waits);
  const last = decided('release');
  const released: PartLoad = { ...short, decisions: { ...undecided, last } };
  expect(partNext('a', [released], null)).toEqual({
    what: 'released',
    load: 'P1-1',
    decided: last,
  });
  const ofA = decided('release', ['a']);
  const partly: PartLoad = { ...short, decisions: { ...undecided, last: ofA, gone: ['a'] } };
  expect(partNext('a', [partly], null)).toMatchObject({ what: 'released' });
  expect(partNext('b', [partly], null)).toEqual(waits);
});

it('is gone once it is scrapped, and goes back where that was decided', () => {
  const scrapped: PartLoad = {
    ...pressed,
    decisions: { ...undecided, last: decided('scrap', ['a']), gone: ['a'] },
  };
  expect(partNext('a', [scrapped, { ...pressed, load: 'R-1' }], null)).toMatchObject({
    what: 'scrapped',
    load: 'P1-1',
  });
  const again: PartLoad = {
    ...pressed,
    verdict: 'under',
    decisions: { ...undecided, last: decided('re-press') },
  };
  expect(partNext('a', [again], null)).toMatchObject({ what: 're-press' });
});

it('may be coated again from the least to the most of its recipe, and rests as long as it asks', () => {
  expect(partNext('a', [pressed], coat)).toEqual({
    ...{ what: 'recoat', load: 'P1-1', coat: 4 },
    ...{ fromMs: endMs + 2 * hourMs, toMs: endMs + 16 * hourMs },
  });
  expect(partNext('a', [pressed], rested)).toEqual({
    ...{ what: 'rest', load: 'P1-1', coat: null },
    ...{ fromMs: endMs + hourMs / 2, toMs: null },
  });
});

it('is free where nothing of its heat keeps it; a part of no load is nobody’s', () => {
  expect(partNext('a', [pressed], null)).toEqual({ what: 'free', load: 'P1-1' });
  expect(partNext('a', [], null)).toBeNull();
});
