import { afterEach, describe, expect, it, vi } from 'vitest';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { verifyBundle } from '@setwell/collector/verify/verify-bundle';
import { faultedResult, withoutRecipe } from '@setwell/collector/judge/refused-result';
import { sha256Hex } from '@setwell/collector/ledger/sha256';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { LoadAmended, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';
import { exportedBundle, lot } from '../fixtures/pressed-lot.ts';

// Each bundle is computed again in a process of its own.
vi.setConfig({ testTimeout: 120_000 });

let works: Works;
afterEach(() => works.end());

/** A load that was 2 min in the press, sealed: with its recipe under, without one unjudged. */
function pressedOnce(more: object): Entry<LoadSealed> {
  works = openWorks();
  works.event('load-start', { load: 'P1-1', lot, ...more });
  works.press(2, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  works.press(3, usualFaceC);
  const [sealed] = works.entries('load-sealed') as Entry<LoadSealed>[];
  return sealed!;
}

/** The plant itself adds another account, by its own collector and under its own key. */
function accountAdded(sealed: Entry<LoadSealed>, result: ScoreResult, more: Partial<LoadSealed>) {
  const document = Buffer.from(canonicalJson(result));
  const [stored] = works.collector.ledger.entriesAfter(sealed.n - 1, 1);
  const { verdict, side, worst, deviations } = result;
  const body: LoadAmended = {
    ...sealed.body,
    ...{ revision: 2, amends: stored!.leaf, because: 'late' },
    ...{ verdict, side, worst, deviations: deviations?.length ?? null },
    result: { sha256: sha256Hex(document), bytes: document.length },
    ...more,
  };
  const { about } = sealed;
  const blobs = [document];
  works.collector.append([{ kind: 'load-amended', by: 'collector', about, body, blobs }]);
}

async function verified() {
  const { key } = works.collector.ledger.checkpoint()!;
  await works.collector.stop();
  const zip = await exportedBundle(works, lot);
  return verifyBundle(zip, { key, since: null, nowMs: Date.now() }, releasedModels());
}

const resultOf = ({ body }: Entry<LoadSealed>) =>
  JSON.parse(works.document(body.result)) as ScoreResult;
const inputOf = ({ body }: Entry<LoadSealed>) =>
  JSON.parse(works.document(body.input)) as ScoreInput;

describe('an account that no model has judged', () => {
  it('of a load without a recipe: no finding, and not computed again', async () => {
    pressedOnce({});
    expect(await verified()).toMatchObject({
      ...{ authentic: true, complete: true, recomputed: false, verdict: 'unproven', findings: [] },
      loads: [{ recomputed: false, unjudged: 'no-recipe' }],
      proven: [/^Since/, 'That the computation can be repeated is not shown.', /^That/].map(
        (words) => expect.stringMatching(words),
      ),
    });
  });

  it('of a load on which the model threw: no finding, and not computed again', async () => {
    const sealed = pressedOnce({ recipe: 'shell-13ply' });
    const { recipe } = inputOf(sealed);
    const faulted = faultedResult(recipe, 'a bug', sealed.body.readings.count);
    accountAdded(sealed, faulted, { unjudged: 'faulted' });
    expect(await verified()).toMatchObject({
      ...{ authentic: true, complete: true, recomputed: false, verdict: 'unproven', findings: [] },
      loads: [{ recomputed: true }, { recomputed: false, unjudged: 'faulted' }],
    });
  });
});

describe('a plant that has the key and says of an account that nobody judged it', () => {
  it.each<[string, (honest: ScoreResult, recipe: ScoreInput['recipe']) => ScoreResult]>([
    ['with a better verdict', (honest) => ({ ...honest, verdict: 'in-window', side: null })],
    ['with the verdict as it was', (honest) => honest],
    [
      'with the refusal’s result and a better verdict',
      (_honest, recipe) => ({
        ...faultedResult(recipe, 'a bug', 1),
        ...{ verdict: 'in-window', side: null },
      }),
    ],
    [
      'with places beside the reason',
      ({ places, quality }, recipe) => ({
        ...faultedResult(recipe, 'a bug', quality.readings),
        places,
      }),
    ],
    ['as if it had no recipe', ({ quality }) => withoutRecipe(quality.readings)],
  ])('%s', async (_what, forge) => {
    const sealed = pressedOnce({ recipe: 'shell-13ply' });
    accountAdded(sealed, forge(resultOf(sealed), inputOf(sealed).recipe), { unjudged: 'faulted' });
    const { recomputed, findings } = await verified();
    expect(recomputed).toBe(false);
    expect(findings.map(({ code }) => code)).toEqual(['result-differs']);
  });

  it('because there was no recipe, where there was one', async () => {
    const sealed = pressedOnce({ recipe: 'shell-13ply' });
    const { recipe } = inputOf(sealed);
    const refused = faultedResult(recipe, 'no recipe was named', sealed.body.readings.count);
    accountAdded(sealed, refused, { unjudged: 'no-recipe' });
    expect((await verified()).findings.map(({ code }) => code)).toEqual(['result-differs']);
  });
});

it('an account whose margin or breaches are told other than its result says them', async () => {
  const sealed = pressedOnce({ recipe: 'shell-13ply' });
  const { worst } = sealed.body;
  accountAdded(sealed, resultOf(sealed), { worst: { ...worst!, margin: -0.1 } });
  expect((await verified()).findings.map(({ code }) => code)).toEqual(['account-differs']);
});
