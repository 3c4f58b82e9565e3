import { accountMember, modelMember } from '@setwell/shared-models/record/bundle';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import { droppedBefore } from '@setwell/shared-models/record/retention';
import { withSurveyedPlace } from '@setwell/shared-models/condition/surveyed-place';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { z } from 'zod';
import { faultedResult, withoutRecipe } from '../judge/refused-result.ts';
import { sha256Hex } from '../ledger/sha256.ts';
import { parsed, type Account, type Bundle } from './bundle.ts';
import type { BundleAccount, BundleLoads, OpenedLoad } from './complete.ts';
import type { Findings } from './finding.ts';
import type { ModelPool } from './model-pool.ts';
import { isPartOf } from './part-of.ts';
import type { ModelAnswer } from './model-process.ts';
import type { ReleasedModel } from './released-models.ts';

const inputSchema = z.looseObject({ readingsSha256: z.string(), recipe: z.unknown() });
const resultSchema = z.looseObject({
  verdict: z.string(),
  side: z.string().nullable(),
  worst: z.unknown(),
  deviations: z.array(z.unknown()).nullable(),
});

/** What became of one account. */
export interface Recomputed {
  n: number;
  load: string;
  revision: number;
  verdict: Account['verdict'];
  /** Number of the model that it names. */
  model: number | null;
  /** The recorded result came out again, to the byte. */
  recomputed: boolean;
  /** No model has judged it, and why: nothing can come out again. */
  unjudged: Account['unjudged'] | null;
}

/** Computes every account again, by the model that its record names, and compares the bytes. */
export async function checkRecomputed(
  bundle: Bundle,
  { accounts, isOwn }: BundleLoads,
  models: ReadonlyMap<string, ReleasedModel>,
  pool: ModelPool,
  findings: Findings,
): Promise<Recomputed[]> {
  const droppedN = droppedBefore(bundle.lines.map(({ entry }) => entry));
  // Documents of a load that has left the lot may have gone with the one it is in now.
  const here = accounts.filter(
    (each) => isOwn(each.load) || each.opened === undefined || !isGone(bundle, each),
  );
  const computing = here.map((each) => {
    if (each.n < droppedN && isGone(bundle, each)) {
      const found = `deleted after their time: entry ${String(droppedN)} says so`;
      const where = `loads/${String(each.n)}`;
      findings.add('documents-gone', 'recomputed', where, found, 'the documents of this account');
      return { each, compared: null };
    }
    const documents = checkDocuments(bundle, each, findings);
    if (each.account.unjudged !== undefined) {
      if (documents) checkUnjudged(each, documents, findings);
      return { each, compared: null };
    }
    const model = released(each, models, findings);
    if (!documents || !model) return { each, compared: null };
    const { input, readings, result } = documents;
    const answer = pool.run(model, { ask: 'score', input, readings });
    return { each, compared: { answer, result } };
  });
  const answers: Recomputed[] = [];
  for (const { each, compared } of computing) {
    const { n, load, account } = each;
    const { revision, verdict } = account;
    const isSame =
      compared !== null && isResult(each, await compared.answer, compared.result, findings);
    const model = account.model.number;
    const unjudged = account.unjudged ?? null;
    answers.push({ n, load, revision, verdict, model, recomputed: isSame, unjudged });
  }
  return answers;
}

/** None of the documents that only this account has: what is left of some is for the digests to tell. */
function isGone({ members }: Bundle, { n }: BundleAccount): boolean {
  const names = ['input.json', 'readings.csv', 'result.json', 'doubtful.csv'] as const;
  return names.every((name) => !members.has(accountMember(n, name)));
}

interface Documents {
  input: z.infer<typeof inputSchema>;
  readings: string;
  result: Buffer;
}

/** The documents of an account are those it was sealed with, and agree with each other. */
function checkDocuments(
  bundle: Bundle,
  { n, account, opened }: BundleAccount,
  findings: Findings,
): Documents | null {
  const { members } = bundle;
  const file = (name: Parameters<typeof accountMember>[1]) => accountMember(n, name);
  const sealed = [
    ['input.json', account.input.sha256],
    ['readings.csv', account.readings.sha256],
    ['result.json', account.result.sha256],
    ['doubtful.csv', account.doubtful?.sha256 ?? null],
    ['recipe.yaml', opened?.recipe?.sha256 ?? null],
  ] as const;
  for (const [name, expected] of sealed) {
    const bytes = members.get(file(name));
    const found = bytes ? sha256Hex(bytes) : null;
    if (found === expected) continue;
    const told = found === null ? 'nothing' : `SHA-256 ${found}`;
    const wanted = expected ?? 'no such member: nothing of it was sealed';
    findings.add('not-what-was-sealed', 'recomputed', file(name), told, wanted);
  }
  const input = parsed(members, file('input.json'), inputSchema, findings);
  const result = parsed(members, file('result.json'), resultSchema, findings);
  const readings = members.get(file('readings.csv'));
  const resultBytes = members.get(file('result.json'));
  if (!input || !result || !readings || !resultBytes) return null;
  if (input.readingsSha256 !== sha256Hex(readings)) {
    const expected = `the readings that input.json names: ${input.readingsSha256}`;
    const found = `SHA-256 ${sha256Hex(readings)}`;
    findings.add('not-what-was-sealed', 'recomputed', file('readings.csv'), found, expected);
  }
  checkRecipe(
    members.get(file('recipe.yaml')),
    input.recipe,
    opened,
    file('recipe.yaml'),
    findings,
  );
  const said = saidOf(account, account.deviations);
  const computed = saidOf(result, result.deviations?.length ?? null);
  if (said !== computed) {
    const expected = `what result.json says: ${computed}`;
    findings.add('account-differs', 'recomputed', `entry ${String(n)}`, said, expected);
  }
  return { input, readings: readings.toString('utf8'), result: resultBytes };
}

/** What an account repeats of its result. */
function saidOf(
  { verdict, side, worst }: Pick<z.infer<typeof resultSchema>, 'verdict' | 'side' | 'worst'>,
  deviations: number | null,
): string {
  return canonicalJson({ verdict, side, worst: worst ?? null, deviations });
}

const windowedSchema = z.looseObject({
  window: z.union([
    z.looseObject({ least: z.number() }),
    z.looseObject({ step: z.looseObject({ least: z.number() }) }),
    z.looseObject({ rest: z.looseObject({ equivalentLeastD: z.number() }) }),
  ]),
});

const refusedSchema = z.looseObject({ reasons: z.tuple([z.looseObject({ because: z.string() })]) });

/** What no model has judged claims nothing: its result holds the reason, and not one number more. */
function checkUnjudged(
  { n, account }: BundleAccount,
  { input, result }: Documents,
  findings: Findings,
): void {
  const recipe = windowedSchema.safeParse(input.recipe).data;
  const refused = refusedSchema.safeParse(JSON.parse(result.toString('utf8'))).data;
  const { count } = account.readings;
  const expected =
    recipe === undefined
      ? withoutRecipe(count)
      : faultedResult(recipe as Pick<Recipe, 'window'>, refused?.reasons[0].because ?? '', count);
  const isThatReason = recipe === undefined || account.unjudged === 'faulted';
  if (isThatReason && Buffer.from(canonicalJson(expected)).equals(result)) return;
  const found = `${account.verdict}, unjudged: ${String(account.unjudged)}`;
  const wanted = 'unproven, with the reason why no model judged it and nothing else';
  findings.add('result-differs', 'recomputed', accountMember(n, 'result.json'), found, wanted);
}

function checkRecipe(
  yaml: Buffer | undefined,
  inInput: unknown,
  opened: OpenedLoad | undefined,
  where: string,
  findings: Findings,
): void {
  if (!yaml) return;
  const read = readRecipe(yaml.toString('utf8'), where);
  const { placeK = 0 } = opened?.place ?? {};
  const scored = (recipe: Recipe) => (placeK > 0 ? withSurveyedPlace(recipe, placeK) : recipe);
  if (read.ok && isPartOf(inInput, scored(read.value))) return;
  const found = read.ok ? 'another recipe than input.json has' : 'no recipe';
  findings.add('recipe-differs', 'recomputed', where, found, 'the recipe of input.json');
}

function released(
  { n, account }: BundleAccount,
  models: ReadonlyMap<string, ReleasedModel>,
  findings: Findings,
): ReleasedModel | null {
  const { number, sha256 } = account.model;
  const where = `entry ${String(n)}`;
  if (number === null || sha256 === null) {
    const found = 'a verdict by a model without a number: it was never released';
    findings.add('model-unreleased', 'recomputed', where, found, 'a released model');
    return null;
  }
  const model = models.get(sha256);
  if (model?.number === number) return model;
  if (model) {
    const found = `model ${String(number)}, by the digest of model ${String(model.number)}`;
    findings.add('account-differs', 'recomputed', where, found, 'one model');
    return null;
  }
  const files = `loads/${String(n)}/input.json loads/${String(n)}/readings.csv`;
  const found = `model ${String(number)}, ${sha256.slice(0, 12)}…: not in this release`;
  const hand = `a model of this release; read it, then by hand: node ${modelMember(number)} ${files}`;
  findings.add('model-unknown', 'recomputed', where, found, hand);
  return null;
}

function isResult(
  { n, load, account }: BundleAccount,
  answer: ModelAnswer,
  result: Buffer,
  findings: Findings,
): boolean {
  const where = accountMember(n, 'result.json');
  if ('fault' in answer) {
    findings.add('model-failed', 'recomputed', where, answer.fault, 'a result');
    return false;
  }
  const bytes = Buffer.from(canonicalJson(answer.result));
  if (bytes.equals(result)) return true;
  const computed = resultSchema.safeParse(answer.result);
  const verdict = computed.success ? computed.data.verdict : 'no verdict';
  const found = `${load}: ${account.verdict} recorded`;
  const expected = `what the model computes from these readings: ${verdict}, other numbers`;
  findings.add('result-differs', 'recomputed', where, found, expected);
  return false;
}
