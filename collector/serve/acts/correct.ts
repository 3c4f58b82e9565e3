import { corrections } from '@setwell/shared-models/api/correction';
import { misfit } from '@setwell/shared-models/plant/misfit';
import type { LoadCorrected } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { aboutKnown, loadOf, type KnownLoad } from './known-load.ts';
import { recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

const name = z.string().min(1).max(120);
const change = z.discriminatedUnion('what', [
  z.strictObject({ what: z.literal('void') }),
  ...corrections,
]);
const correctedSchema = z.strictObject({
  load: name.optional(),
  reason: z.string().min(1).max(1000).nullable().default(null),
  change,
});

type Change = z.infer<typeof change>;

/** A start may be taken back without a reason for so long [ms]. */
const undoMs = 60_000;

/** A person puts right what was said of a load. @throws ActRefused */
export function correct(act: GivenAct, parts: RecordedActParts): Entry {
  const load = loadOf(act, parts.fold);
  const { reason, change: asked } = parsed(correctedSchema, act.body);
  const nowMs = parts.clock.nowMs();
  const undone =
    asked.what === 'void' && load.openedAtMs !== null && nowMs - load.openedAtMs <= undoMs;
  if (reason === null && !undone) {
    const expected =
      asked.what === 'void' ? 'a reason: its start is more than a minute ago' : 'a reason';
    throw refused('body.reason', 'none', expected);
  }
  const body: LoadCorrected = { load: load.load, reason, change: checked(asked, load, parts) };
  return recorded(act, parts, aboutKnown(load), body);
}

function checked(
  asked: Change,
  load: KnownLoad,
  { fold, clock, recipe: read, stationOf }: RecordedActParts,
): LoadCorrected['change'] {
  switch (asked.what) {
    case 'void':
      if (load.state !== 'sealed') return asked;
      throw refused('body.change', 'void', 'a load that is not sealed; its record stays', 'sealed');
    case 'readings':
      if (load.state === 'sealed') return asked;
      throw refused('body.change', 'readings', 'a sealed load; of others all readings count');
    case 'lot':
      return asked;
    case 'recipe': {
      const [id = '', revision] = asked.recipe.split('@');
      const approved = fold.approvedRecipe(id, revision === undefined ? null : Number(revision));
      if (!approved) {
        throw refused('body.change.recipe', asked.recipe, 'an approved recipe', 'unknown-recipe');
      }
      const station = stationOf(load.station);
      const wrong = station === null ? null : misfit(read(approved.ref.sha256), station);
      if (wrong !== null) {
        throw refused('body.change.recipe', wrong.found, wrong.expected, 'wrong-kind');
      }
      return { what: 'recipe', recipe: approved.ref };
    }
    case 'marks': {
      const given = Object.entries(asked.marks);
      const wrong = given.find(
        ([, at]) => at && (at.latestMs < at.earliestMs || at.latestMs > clock.nowMs()),
      );
      if (wrong) {
        throw refused(
          `body.change.marks.${wrong[0]}`,
          'a time',
          'earliest, then latest, not to come',
        );
      }
      const { endMs } = asked;
      const startMs = asked.marks.pressureOn?.latestMs ?? load.startMs;
      if (endMs !== null && (endMs <= startMs || endMs > clock.nowMs())) {
        throw refused('body.change.endMs', String(endMs), 'after the start, and not to come');
      }
      if (load.state === 'open' && endMs !== null) {
        throw refused(
          'body.change.endMs',
          String(endMs),
          'none: a load that is in ends by load-end',
        );
      }
      return { what: 'marks', marks: Object.fromEntries(given), endMs };
    }
  }
}
