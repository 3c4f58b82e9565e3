import {
  retentionOf,
  usualLotFileYears,
  type LotRetention,
} from '@setwell/shared-models/record/retention';
import { worstVerdict } from '@setwell/shared-models/score/window';
import type { Verdict } from '@setwell/shared-models/score/shape';
import { checkAuthentic, type Brought } from './authentic.ts';
import { readBundle, type Bundle } from './bundle.ts';
import { checkComplete, loadsOf, type BundleLoads } from './complete.ts';
import { checkCoats } from './coats.ts';
import { Findings, type BundleFinding } from './finding.ts';
import { checkRecomputed, type Recomputed } from './recomputed.ts';
import { ModelPool } from './model-pool.ts';
import type { ReleasedModel } from './released-models.ts';

/** What a bundle shows, and what it does not. */
export interface Verification {
  lot: string | null;
  authentic: boolean;
  complete: boolean;
  /** Every result came out again; not where no model has judged what counts of a load. */
  recomputed: boolean;
  /** The lot's, by the effective accounts; null where there is none. */
  verdict: Verdict | null;
  checkpoint: { origin: string; size: number; root: string; at: string | null } | null;
  /** Which key was asked, and where it came from: the bundle's own proves only that it fits. */
  key: { text: string; from: 'brought' | 'bundle' } | null;
  loads: Recomputed[];
  /** Who keeps its documents, and whether they were deleted after their time, by its entries. */
  hold: LotRetention['hold'];
  dropped: LotRetention['dropped'];
  demo: boolean;
  findings: BundleFinding[];
  /** Three sentences: what is proven and what no file can show. */
  proven: [string, string, string];
}

/**
 * A bundle, held against its own log, against what the auditor brings along, and computed again. Whatever
 * the bytes are, the answer is findings and no crash.
 */
export async function verifyBundle(
  zip: Buffer,
  brought: Brought,
  models: ReadonlyMap<string, ReleasedModel>,
): Promise<Verification> {
  const pool = new ModelPool();
  try {
    return await verifyWith(pool, zip, brought, models);
  } finally {
    await pool.end();
  }
}

/** The same for one bundle of many: their models' processes are used again. */
export async function verifyWith(
  pool: ModelPool,
  zip: Buffer,
  brought: Brought,
  models: ReadonlyMap<string, ReleasedModel>,
): Promise<Verification> {
  const findings = new Findings();
  const bundle = readBundle(zip, findings);
  if (!bundle) return nothingRead(findings);
  const { checkpoint, key } = checkAuthentic(bundle, brought, findings);
  const loads = loadsOf(bundle, findings);
  checkComplete(bundle, loads, checkpoint, findings);
  const recomputed = await checkRecomputed(bundle, loads, models, pool, findings);
  await checkCoats(bundle, loads, models, pool, findings);
  const at = timeOf(bundle);
  const ofLot = bundle.lines.filter(({ entry }) => entry.about.lots?.includes(bundle.proof.lot));
  const { hold, dropped } = retentionOf(
    ofLot.map(({ entry }) => entry),
    usualLotFileYears,
  );
  const authentic = !findings.has('authentic');
  const isRecomputed = !findings.has('recomputed') && !isLeftUnjudged(recomputed);
  return {
    lot: bundle.proof.lot,
    authentic,
    complete: authentic && !findings.has('complete'),
    recomputed: isRecomputed,
    verdict: lotVerdict(loads),
    checkpoint: checkpoint && { ...checkpoint, at },
    key: key && { text: key.text, from: brought.key === null ? 'bundle' : 'brought' },
    loads: recomputed,
    ...{ hold, dropped },
    demo: isDemo(bundle),
    findings: findings.list,
    proven: proven(authentic ? at : null, isRecomputed ? numbersOf(loads) : null),
  };
}

function nothingRead(findings: Findings): Verification {
  return {
    ...{ lot: null, authentic: false, complete: false, recomputed: false, verdict: null },
    ...{ checkpoint: null, key: null, loads: [], hold: null, dropped: null, demo: false },
    findings: findings.list,
    proven: proven(null, null),
  };
}

/** When the export was recorded, by the collector's clock. */
function timeOf({ lines }: Bundle): string | null {
  return timeText(lines.at(-1)?.entry.at ?? NaN);
}

/** @returns null for what is no time */
export function timeText(ms: number): string | null {
  const date = new Date(ms);
  return Number.isNaN(date.getTime()) ? null : date.toISOString();
}

function lotVerdict({ accounts, isOwn }: BundleLoads): Verdict | null {
  const own = accounts.filter(({ load, opened }) => isOwn(load) || opened === undefined);
  const effective = new Map(own.map(({ load, account }) => [load, account.verdict]));
  return effective.size === 0 ? null : worstVerdict([...effective.values()]);
}

function isLeftUnjudged(accounts: Recomputed[]): boolean {
  const effective = new Map(accounts.map(({ load, unjudged }) => [load, unjudged]));
  return [...effective.values()].some((unjudged) => unjudged !== null);
}

function isDemo({ members }: Bundle): boolean {
  const text = members.get('lot.json')?.toString('utf8') ?? '';
  return /"site":\{"demo":true,/.test(text);
}

function numbersOf({ accounts }: BundleLoads): number[] {
  const numbers = accounts.map(({ account }) => account.model.number ?? 0);
  return [...new Set(numbers)].sort((a, b) => a - b);
}

export function proven(at: string | null, models: number[] | null): Verification['proven'] {
  return [
    at === null
      ? 'That nothing in this file has changed is not shown.'
      : `Since the checkpoint of ${at} nothing in this file has changed.`,
    models === null || models.length === 0
      ? 'That the computation can be repeated is not shown.'
      : `Anyone can repeat the computation with model ${models.join(', ')}.`,
    'That the sensors told the truth, and that nothing was added after that checkpoint, this file cannot show.',
  ];
}
