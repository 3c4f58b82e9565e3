import { releasedModels } from '@setwell/collector/verify/released-models';
import { verifyBundle } from '@setwell/collector/verify/verify-bundle';
import type { LoadOpened, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import { afterEach, expect, test, vi } from 'vitest';
import { OpenedBundle, pressedLot, type PressedLot } from '../fixtures/pressed-lot.ts';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

// Loads are computed a few dozen times each, one after the other.
vi.setConfig({ testTimeout: 120_000 });

let works: Works | null = null;
let pressed: PressedLot | null = null;
afterEach(async () => {
  await (pressed ?? works)?.end();
  [works, pressed] = [null, null];
});

/** A person takes over what a survey says; the recipe's own half-width is 1.5 K. */
function approve({ collector }: Works, placeK: number, survey = 'V-1'): void {
  const body = { station: 'press-1', survey, placeK, was: null };
  collector.append([
    { kind: 'place-approved', by: 'E. Lind', about: { station: 'press-1' }, body },
  ]);
}

/** A load of 24 minutes, as it was sealed. */
function press(of: Works, load: string): { input: ScoreInput; result: ScoreResult } {
  of.event('load-start', { load, lot: load, recipe: 'shell-13ply' });
  of.press(24, usualFaceC);
  of.event('load-end', { load });
  of.press(0.5, () => 138);
  const body = of.entries('load-sealed').find(({ about }) => about.load === load)
    ?.body as LoadSealed;
  const input = JSON.parse(of.document(body.input)) as ScoreInput;
  return { input, result: JSON.parse(of.document(body.result)) as ScoreResult };
}

const placeOf = ({ budget }: ScoreResult) => budget.find(({ term }) => term === 'place')?.down ?? 0;
const lowOf = ({ places }: ScoreResult) => Math.min(...places.map(({ low }) => low));

test('a survey’s place counts for what starts later, is undone by the next, and narrows nothing', () => {
  const of = (works = openWorks());
  const own = press(of, 'P1-1');
  approve(of, 4);
  const wide = press(of, 'P1-2');
  approve(of, 0.5, 'V-2');
  const small = press(of, 'P1-3');
  const opened = of.entries('load-opened').map(({ body }) => (body as LoadOpened).place);
  expect(opened).toMatchObject([
    undefined,
    { survey: 'V-1', placeK: 4, by: 'E. Lind' },
    { survey: 'V-2', placeK: 0.5 },
  ]);
  const said = [own, wide, small].map(({ input: { recipe } }) =>
    recipe.kind === 'press' ? recipe.layup?.tolerance?.placeK : null,
  );
  expect(said).toEqual([1.5, 4, 1.5]);
  expect(placeOf(wide.result)).toBeGreaterThan(2 * placeOf(own.result));
  expect(lowOf(wide.result)).toBeLessThan(lowOf(own.result) - 0.1);
  expect(placeOf(small.result) / placeOf(own.result)).toBeCloseTo(1, 2);
});

test('what comes meanwhile leaves a running load as it is, over a restart too', () => {
  const of = (works = openWorks());
  of.event('load-start', { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply' });
  of.press(4, usualFaceC);
  approve(of, 4);
  of.restart();
  of.press(20, () => 138);
  of.event('load-end', { load: 'P1-1' });
  of.press(0.5, () => 138);
  const [sealed] = of.entries('load-sealed');
  const input = JSON.parse(of.document((sealed?.body as LoadSealed).input)) as ScoreInput;
  expect(input.recipe).toMatchObject({ layup: { tolerance: { placeK: 1.5 } } });
});

test('a bundle with it is verified whole, and tells of another place in its input', async () => {
  pressed = await pressedLot(2, undefined, undefined, (at) => approve(at, 4));
  const zip = await pressed.bundle();
  const { key } = pressed;
  const verified = (bundle: Buffer) =>
    verifyBundle(bundle, { key, since: null, nowMs: Date.now() }, releasedModels());
  expect(await verified(zip)).toMatchObject({
    ...{ authentic: true, complete: true, recomputed: true },
    findings: [],
  });
  const forged = new OpenedBundle(zip);
  const [member = ''] = [...forged.members.keys()].filter((name) => name.endsWith('/input.json'));
  const input = forged.text(member);
  expect(input).toContain('"placeK":4');
  forged.put(member, input.replace('"placeK":4', '"placeK":1.5'));
  const { findings } = await verified(forged.packed());
  expect(findings.map(({ code }) => code)).toEqual(
    expect.arrayContaining(['recipe-differs', 'result-differs']),
  );
});
