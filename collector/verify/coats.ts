import { accountMember, listingMember } from '@setwell/shared-models/record/bundle';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { Entry } from '@setwell/shared-models/record/entry';
import { historiesOf } from '@setwell/shared-models/record/part-histories';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import type { CarriedCoat, CoatResult } from '@setwell/shared-models/score/shape';
import { z } from 'zod';
import { coatStacks, type BakeDocuments } from '../export/coat-stacks.ts';
import { ofParts } from '../judge/carried-coats.ts';
import { CoatBakes, type BakeAccount, type CoatBake } from '../judge/coat-bakes.ts';
import { sha256Hex } from '../ledger/sha256.ts';
import { correctedSchema, jsonOf, listingSchema, parsed, type Bundle } from './bundle.ts';
import type { BundleLoads } from './complete.ts';
import type { Findings } from './finding.ts';
import type { ModelPool } from './model-pool.ts';
import type { ReleasedModel } from './released-models.ts';

/** What is read of the entries that tell which loads have baked a coat. */
const told = {
  'load-opened': z.looseObject({
    parts: z.array(z.string()),
    marks: z.looseObject({ pressureOn: z.looseObject({ earliestMs: z.number() }) }),
  }),
  'load-sealed': z.looseObject({ startMs: z.number() }),
  'load-amended': z.looseObject({ startMs: z.number() }),
  'load-corrected': correctedSchema,
} as const;

const carryingSchema = z.looseObject({
  recipe: z.looseObject({ coat: z.number().optional() }).nullable(),
  coats: z.array(z.looseObject({})),
});

const filedSchema = z.looseObject({
  coats: z.array(z.looseObject({})).optional(),
  coatsBy: z.looseObject({ sha256: z.string().nullable() }).optional(),
});

/**
 * Computes coats again from the readings of the accounts they rest on: what each load carries of earlier
 * bakes, and the coats of each time the lot was filed. The entries are gone through in their order, so
 * that each is held against the accounts that counted then.
 */
export async function checkCoats(
  bundle: Bundle,
  { accounts, readable, isOwn }: BundleLoads,
  models: ReadonlyMap<string, ReleasedModel>,
  pool: ModelPool,
  findings: Findings,
): Promise<void> {
  const coats = new CoatsAgain(bundle, isOwn, pool, findings);
  const byN = new Map(accounts.map((each) => [each.n, each]));
  const checks: Promise<void>[] = [];
  for (const { entry } of bundle.lines) {
    const account = byN.get(entry.n)?.account;
    const model = models.get(account?.model.sha256 ?? '');
    if (account && model && account.unjudged === undefined) {
      checks.push(coats.checkCarried(entry, model));
    }
    if (entry.kind === 'lot-filed' && entry.about.lots?.[0] === bundle.proof.lot) {
      checks.push(coats.checkFiled(entry, models));
    }
    if (isTold(entry, byN.has(entry.n), readable)) coats.take(entry);
  }
  await Promise.all(checks);
}

/** Whether an entry says what its kind says; what it does not was found before. */
function isTold(
  { kind, body, about }: Entry,
  isAccount: boolean,
  opened: ReadonlySet<string>,
): boolean {
  if (kind === 'load-opened' && !opened.has(about.load ?? '')) return false;
  if ((kind === 'load-sealed' || kind === 'load-amended') && !isAccount) return false;
  const shape = told[kind as keyof typeof told] as z.ZodType | undefined;
  return shape?.safeParse(body).success === true;
}

class CoatsAgain {
  readonly #bundle: Bundle;
  readonly #isOwn: BundleLoads['isOwn'];
  readonly #pool: ModelPool;
  readonly #findings: Findings;
  readonly #bakes: CoatBakes;

  constructor(bundle: Bundle, isOwn: BundleLoads['isOwn'], pool: ModelPool, findings: Findings) {
    this.#bundle = bundle;
    this.#isOwn = isOwn;
    this.#pool = pool;
    this.#findings = findings;
    const recipes = new Map(
      [...bundle.members]
        .filter(([name]) => name.endsWith('/recipe.yaml'))
        .map(([name, bytes]) => [sha256Hex(bytes), { name, bytes }]),
    );
    this.#bakes = new CoatBakes((sha256) => {
      const found = recipes.get(sha256);
      const read = found && readRecipe(found.bytes.toString('utf8'), found.name);
      return read?.ok === true ? read.value : null;
    });
  }

  take(entry: Entry): void {
    this.#bakes.take(entry);
  }

  /** What a load carries is what its earlier bakes' readings say. */
  async checkCarried({ n, about }: Entry, model: ReleasedModel): Promise<void> {
    const where = accountMember(n, 'input.json');
    const input = carryingSchema.safeParse(jsonOf(this.#bundle.members.get(where))).data;
    const own = this.#bakes.get(about.load ?? '');
    if (!input || own?.coat == null) return;
    const before = this.#bakes.before(own.load);
    // Of a bake that was not sealed then only this is said: that nobody could follow it yet.
    const open = before.filter(({ account }) => account === null).map(({ load }) => load);
    if (open.some((load) => canonicalJson(input.coats).includes(canonicalJson(load)))) return;
    if (before.some((bake) => this.#hasGone(bake))) return;
    const expected: CarriedCoat[] = [];
    const histories = historiesOf(before, own.parts);
    for (const { parts, loads } of histories) {
      const after = await this.#run<CoatResult[]>(model, where, {
        ask: 'scoreCoats',
        input: loads.flatMap((bake) => this.#documentsOf(bake)),
      });
      const carried =
        after &&
        (await this.#run<CarriedCoat[]>(model, where, {
          ask: 'carriedTo',
          input,
          readings: after,
        }));
      if (carried === null) return;
      const shared = histories.length === 1 || parts === null;
      expected.push(...(shared ? carried : carried.map((coat) => ofParts(coat, parts))));
    }
    this.#compare(where, input.coats, expected);
  }

  /** The coats of a lot's file are what the readings of all their bakes say. */
  async checkFiled(entry: Entry, models: ReadonlyMap<string, ReleasedModel>): Promise<void> {
    const where = `entry ${String(entry.n)}`;
    const listing = listingSchema.safeParse(entry.body).data;
    const whole = listing?.whole && listingMember(listing.whole.sha256);
    const { members } = this.#bundle;
    const body =
      whole === undefined ? entry.body : parsed(members, whole, listingSchema, this.#findings);
    const filed = filedSchema.safeParse(body).data;
    const model = models.get(filed?.coatsBy?.sha256 ?? '');
    if (filed?.coats === undefined || model === undefined) return;
    const bakes = this.#bakes.of(this.#bundle.proof.lot);
    if (bakes.some((bake) => this.#hasGone(bake))) return;
    const documentsOf = (account: BakeAccount) => this.#documents(account);
    const stacks = await coatStacks(bakes, documentsOf, async (input) => {
      return (await this.#run<CoatResult[]>(model, where, { ask: 'scoreCoats', input })) ?? [];
    });
    this.#compare(where, filed.coats, stacks);
  }

  #compare(where: string, found: unknown, expected: unknown): void {
    if (canonicalJson(found) === canonicalJson(expected)) return;
    const wanted = 'what the model computes from the readings of all their bakes';
    this.#findings.add('coats-differ', 'recomputed', where, 'other coats', wanted);
  }

  async #run<Result>(
    model: ReleasedModel,
    where: string,
    job: Parameters<ModelPool['run']>[1],
  ): Promise<Result | null> {
    const answer = await this.#pool.run(model, job);
    if ('result' in answer) return answer.result as Result;
    this.#findings.add('model-failed', 'recomputed', where, answer.fault, 'coats');
    return null;
  }

  /** A load that has left the lot, and its documents with it. */
  #hasGone({ load, account }: CoatBake): boolean {
    if (account === null || this.#isOwn(load)) return false;
    return !this.#bundle.members.has(accountMember(account.cited?.n ?? -1, 'readings.csv'));
  }

  #documentsOf({ account }: CoatBake): BakeDocuments[] {
    return account === null ? [] : [this.#documents(account)];
  }

  #documents({ cited, unjudged }: BakeAccount): BakeDocuments {
    const n = cited?.n ?? -1;
    const csv = this.#bundle.members.get(accountMember(n, 'readings.csv'));
    const input = jsonOf(this.#bundle.members.get(accountMember(n, 'input.json')));
    return { input, readingsCsv: csv?.toString('utf8') ?? '', unjudged };
  }
}
