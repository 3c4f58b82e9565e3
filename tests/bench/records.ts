import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { KeyFolder } from '@setwell/collector/ledger/key-folder';
import { openLedger } from '@setwell/collector/ledger/ledger';
import { sha256 } from '@setwell/collector/ledger/sha256';
import type { Proposal } from '@setwell/collector/ledger/shape';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { verifyBundle } from '@setwell/collector/verify/verify-bundle';
import { SystemClock } from '@setwell/collector/system-clock';
import {
  finishedBy,
  inclusionPath,
  leafHash,
  rootOfInclusion,
} from '@setwell/shared-models/record/tree';
import { pressedLot } from '../fixtures/pressed-lot.ts';
import type { Works } from '../fixtures/press-plant/works.ts';
import { median, type BenchRow } from './bench-row.ts';
import { periodMemoryBench } from './period-memory.ts';
import { ticksOf } from './processor-time.ts';

const group = 50;
const groups = 200;
const rounds = 5;

/** The ledger's tree, proofs, and a lot of a hundred loads out and checked again. */
export async function recordsBench(): Promise<BenchRow[]> {
  return [appended(), proofs(), ...(await hundredLoads()), await periodMemoryBench()];
}

const said = (n: number): Proposal => ({
  kind: 'call-raised',
  by: 'collector',
  about: { sensor: `p${n % 50}`, lots: ['K-118'] },
  body: {
    kind: 'sensor-silent',
    point: `p${n % 50}`,
    since: 1_772_431_330_412 + n,
    note: 'x'.repeat(200),
  },
});

/** Entries in groups with the tree, against the same rows synced into a plain table. */
function appended(): BenchRow {
  const folder = mkdtempSync(join(tmpdir(), 'bench-'));
  const clock = new SystemClock({ originMs: 0, wallOriginMs: 0, rate: 1 });
  const keys = new KeyFolder(join(folder, 'keys'));
  const ledger = openLedger(join(folder, 'ledger.db'), 'bench/c1/1', clock, keys);
  const plain = new Database(join(folder, 'plain.db'));
  plain.pragma('journal_mode = WAL');
  plain.pragma('synchronous = FULL');
  plain.exec('CREATE TABLE entry (n INTEGER PRIMARY KEY, bytes BLOB NOT NULL) STRICT');
  const insert = plain.prepare('INSERT INTO entry (bytes) VALUES (?)');
  const insertAll = plain.transaction((texts: Buffer[]) =>
    texts.forEach((text) => insert.run(text)),
  );
  const perS = { ours: [] as number[], plain: [] as number[] };
  for (let round = 0; round < rounds; round++) {
    perS.ours.push(ratePerS(() => ledger.append(Array.from({ length: group }, (_, n) => said(n)))));
    perS.plain.push(
      ratePerS(() =>
        insertAll(Array.from({ length: group }, (_, n) => Buffer.from(JSON.stringify(said(n))))),
      ),
    );
  }
  ledger.close();
  plain.close();
  rmSync(folder, { recursive: true });
  return {
    name: `ledger entries in groups of ${group}, hashed into the tree, synced`,
    baseline: 'the limit of 5,000 entries/s',
    ratio: median(perS.ours) / 5000,
    aim: 1,
    value: median(perS.ours),
    unit: `entries/s (a plain table: ${Math.round(median(perS.plain))})`,
    runs: perS.ours,
  };
}

function ratePerS(append: () => void): number {
  const startMs = performance.now();
  for (let n = 0; n < groups; n++) append();
  return (groups * group * 1000) / (performance.now() - startMs);
}

/** An inclusion proof in a tree of ten million leaves, made and checked; the leaves share one hash. */
function proofs(): BenchRow {
  const size = 10_000_000;
  const leaf = leafHash(sha256, Buffer.from('leaf'));
  // Equal leaves make equal subtrees: a level is one hash, and every path is as long as it must be.
  const levels: Uint8Array[] = [leaf];
  const nodes = (level: number): Uint8Array => {
    for (let at = levels.length; at <= level; at++) {
      const below = levels[at - 1]!;
      const [node] = finishedBy(sha256, () => below, 1, below);
      levels.push(node!.hash);
    }
    return levels[level]!;
  };
  const runs: number[] = [];
  for (let round = 0; round < 50; round++) {
    const n = Number(
      BigInt(`0x${createHash('sha256').update(String(round)).digest('hex').slice(0, 12)}`) %
        BigInt(size),
    );
    const startMs = performance.now();
    const path = inclusionPath(sha256, nodes, n, size);
    if (rootOfInclusion(sha256, leaf, n, size, path) === null) throw new Error('no root');
    runs.push(performance.now() - startMs);
  }
  return {
    name: 'inclusion proof at 10 million entries, made and checked',
    baseline: 'the limit of 5 ms',
    ratio: 5 / median(runs),
    aim: 1,
    value: median(runs),
    unit: 'ms',
    runs: runs.slice(0, 7),
  };
}

/** A pressing of 24 min, told a hundred times under other names: each is hashed and computed by itself. */
function toldAgain(works: Works): void {
  const { ledger } = works.collector;
  const told = works
    .entries()
    .filter(({ kind }) => ['load-opened', 'load-ended', 'load-sealed'].includes(kind));
  for (let n = 1; n < 100; n++) {
    const load = `P1-${String(231 + n).padStart(5, '0')}`;
    ledger.append(
      told.map(({ kind, by, about, body }) => ({
        ...{ kind, by, about: { ...about, load } },
        body: { ...(body as object), load },
      })),
    );
  }
}

interface Took {
  clockS: number;
  /** Of this process and of those that it has started and that have ended. */
  processorS: number;
}

/** By the clock, and by the processor's own, for neighbours on the machine make the clock's longer. */
async function tookS(work: () => Promise<void>): Promise<Took> {
  const [startMs, beforeS] = [performance.now(), processorS()];
  await work();
  return { clockS: (performance.now() - startMs) / 1000, processorS: processorS() - beforeS };
}

function processorS(): number {
  const { ownS, endedS } = ticksOf(process.pid);
  return ownS + endedS;
}

async function hundredLoads(): Promise<BenchRow[]> {
  const many = await pressedLot(24, toldAgain);
  const out: Took[] = [];
  const checked: Took[] = [];
  try {
    for (let round = 0; round < 3; round++) {
      let zip: Buffer = Buffer.alloc(0);
      out.push(await tookS(async () => void (zip = await many.bundle())));
      checked.push(
        await tookS(async () => {
          const brought = { key: null, since: null, nowMs: Date.now() };
          const { findings } = await verifyBundle(zip, brought, releasedModels());
          if (findings.length > 0) throw new Error(JSON.stringify(findings[0]));
        }),
      );
    }
  } finally {
    await many.end();
  }
  const row = (name: string, limitS: number, took: Took[]): BenchRow => {
    const runs = took.map(({ clockS }) => clockS);
    const processorS = median(took.map((each) => each.processorS));
    return {
      ...{ name, baseline: `the limit of ${limitS} s`, aim: 1, runs },
      unit: `s (of two cores: ${processorS.toFixed(1)} s of processor)`,
      ratio: limitS / median(runs),
      value: median(runs),
    };
  };
  return [
    row('a lot of 100 loads exported as a bundle', 2, out),
    row('a lot of 100 loads verified, recomputation included', 10, checked),
  ];
}
