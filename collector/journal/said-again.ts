import type { ReadingQuality } from '@setwell/shared-models/api/collector';
import type { Reading } from './shape.ts';

/** How a reading came in, the best first: it came so once, and that it comes again takes nothing away. */
const ways: readonly ReadingQuality[] = ['good', 'late', 'retained-old'];

/** Doubt of the value itself, the least first: said once, it stays. */
const doubts: readonly ReadingQuality[] = ['doubtful', 'stuck', 'outside-calibration', 'missing'];

/**
 * What two copies of one reading (same point, time and value) say together. It does not hang on which
 * came first: doubt of either counts, and so does the better way in which one of them came.
 */
export function togetherSaid(one: Reading, other: Reading): Reading {
  return {
    ...one,
    quality: qualityOf(one.quality, other.quality),
    deviceSeq: least(one.deviceSeq, other.deviceSeq),
    stamped: one.stamped && other.stamped,
    ahead: one.ahead || other.ahead,
  };
}

export function isSameReading(one: Reading, other: Reading): boolean {
  return (
    one.quality === other.quality &&
    one.deviceSeq === other.deviceSeq &&
    one.stamped === other.stamped &&
    one.ahead === other.ahead
  );
}

function qualityOf(one: ReadingQuality, other: ReadingQuality): ReadingQuality {
  const doubt = Math.max(doubts.indexOf(one), doubts.indexOf(other));
  if (doubt >= 0) return doubts[doubt] ?? 'doubtful';
  return ways[Math.min(ways.indexOf(one), ways.indexOf(other))] ?? 'good';
}

function least(one: number | null, other: number | null): number | null {
  if (one === null || other === null) return one ?? other;
  return Math.min(one, other);
}
