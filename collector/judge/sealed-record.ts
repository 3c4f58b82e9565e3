import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import { canonicalReadings, type RawReading } from '@setwell/shared-models/score/readings';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import type { JournalReader } from '../journal/shape.ts';
import { sha256Hex } from '../ledger/sha256.ts';
import type { JudgedLoad } from './judged-load.ts';
import { isScored } from './load-readings.ts';
import type { Model } from './model.ts';
import { faultedResult, withoutRecipe } from './refused-result.ts';
import type { UnjudgedInput } from './score-input.ts';

export interface SealedRecord {
  body: LoadSealed;
  result: ScoreResult;
  blobs: Buffer[];
}

/** How long after the end a reading may still bracket it [ms]. */
export const bracketMs = 3_600_000;

/**
 * The sealed account of a load from what the journal holds, and from nothing else: it does not hang on
 * how the load was watched, nor on restarts.
 *
 * @throws whatever the model throws
 */
function sealLoad(
  load: JudgedLoad,
  journal: JournalReader,
  model: Model,
  seal: { sealedBy: 'complete' | 'deadline'; silent: string[] },
  journalUpTo: number,
  inputOf = (asOfMs: number) => load.input(asOfMs),
): SealedRecord {
  const { endMs } = load;
  if (endMs === null) throw new Error(`load ${load.opened.load} has not ended`);
  const { rows, conflicts, aside } = rowsOfLoad(load, journal, endMs);
  const taken = aside.length === 0 ? null : document(asideCsv(aside));
  const readings = document(canonicalReadings(rows));
  // The readings after the end bracket it, and are all that is known of later.
  const asOfMs = Math.max(endMs, ...lastTimes(rows));
  const read = { readingsSha256: readings.sha256 };
  const input = load.recipe
    ? { ...inputOf(asOfMs), ...read }
    : { ...load.unjudged(asOfMs), ...read };
  const result = isJudged(input) ? model.judge(input, rows).result : withoutRecipe(rows.length);
  const inputDocument = document(canonicalJson(input));
  const resultDocument = document(canonicalJson(result));
  const body: LoadSealed = {
    revision: 1,
    ...seal,
    startMs: input.startMs,
    endMs,
    model: { number: model.number, sha256: model.sha256 },
    input: named(inputDocument),
    readings: { ...named(readings), count: rows.length, journalUpTo },
    result: named(resultDocument),
    ...(taken ? { doubtful: { ...named(taken), count: aside.length } } : {}),
    verdict: result.verdict,
    side: result.side,
    worst: result.worst,
    deviations: result.deviations === null ? null : result.deviations.length,
    quality: {
      readings: rows.length,
      doubtful: aside.length - conflicts + result.quality.doubtful,
      conflicts,
      gaps: result.quality.gaps.length,
    },
  };
  if (!load.recipe) body.unjudged = 'no-recipe';
  const documents = [inputDocument, readings, resultDocument, ...(taken ? [taken] : [])];
  const blobs = documents.map(({ bytes }) => bytes);
  return { body, result, blobs };
}

/** The same where the model may throw: then the account says so, and its readings are bound all the same. */
export function sealOrFault(
  load: JudgedLoad,
  journal: JournalReader,
  model: Model,
  seal: { sealedBy: 'complete' | 'deadline'; silent: string[] },
  journalUpTo: number,
): SealedRecord & { fault: unknown } {
  try {
    return { ...sealLoad(load, journal, model, seal, journalUpTo), fault: null };
  } catch (fault) {
    const faulted = faultedModel(model, fault);
    const plain = (asOfMs: number) => load.withoutCoats(asOfMs);
    const record = sealLoad(load, journal, faulted, seal, journalUpTo, plain);
    record.body.unjudged = 'faulted';
    return { ...record, fault };
  }
}

/**
 * Scored readings of each point that takes part: of a face from before the start to the first one at or
 * after the end, of a start point up to the start.
 */
function rowsOfLoad(load: JudgedLoad, journal: JournalReader, endMs: number) {
  const rows: RawReading[] = [];
  const aside: Aside[] = [];
  let conflicts = 0;
  for (const [point, { fromMs, toMs }] of [...load.spans].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const found = journal.readings(point, fromMs, Math.min(toMs, endMs));
    const scored = found.readings.filter(isScored);
    conflicts += found.conflicts;
    for (const reading of found.readings) {
      if (isScored(reading)) continue;
      const because = reading.ahead ? 'ahead' : reading.quality;
      aside.push({ point, tMs: reading.t, value: reading.v, because });
    }
    for (const tMs of found.conflictTimes) {
      aside.push({ point, tMs, value: null, because: 'conflict' });
    }
    if (toMs > endMs && scored.at(-1)?.t !== endMs) {
      const after = journal.readings(point, endMs + 1, endMs + bracketMs).readings.find(isScored);
      if (after) scored.push(after);
    }
    for (const { t, v } of scored) rows.push({ point, tMs: t, value: v });
  }
  return { rows, conflicts, aside };
}

/** A reading that was taken out; two values for one time have none. */
interface Aside {
  point: string;
  tMs: number;
  value: number | null;
  because: string;
}

/** As the scored readings, with the reason. */
function asideCsv(aside: Aside[]): string {
  const sorted = [...aside].sort((a, b) =>
    a.point === b.point ? a.tMs - b.tMs : a.point < b.point ? -1 : 1,
  );
  const lines = sorted.map(
    ({ point, tMs, value, because }) =>
      `${point},${String(tMs)},${value === null ? '' : String(value)},${because}\n`,
  );
  return `point,t_ms,value,reason\n${lines.join('')}`;
}

function lastTimes(rows: RawReading[]): number[] {
  const last = new Map<string, number>();
  for (const { point, tMs } of rows) last.set(point, tMs);
  return [...last.values()];
}

function document(text: string): { bytes: Buffer; sha256: string } {
  const bytes = Buffer.from(text, 'utf8');
  return { bytes, sha256: sha256Hex(bytes) };
}

function named({ bytes, sha256 }: { bytes: Buffer; sha256: string }) {
  return { sha256, bytes: bytes.length };
}

function isJudged(input: ScoreInput | UnjudgedInput): input is ScoreInput {
  return input.recipe !== null;
}

/** What is sealed of a load on which the model threw: unproven, with its reason, and all its readings. */
export function faultedModel(model: Model, error: unknown): Model {
  const because = error instanceof Error ? error.message : String(error);
  return {
    ...model,
    judge: ({ recipe }, readings) => ({
      forecast: () => null,
      carried: () => [],
      result: faultedResult(recipe, because, readings.length),
    }),
  };
}
