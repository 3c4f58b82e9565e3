import { canonicalJson } from '@setwell/shared-models/record/canonical';
import { eventKinds, type EventKind } from '@setwell/shared-models/plant/station-event';
import { timeOf } from '@setwell/shared-models/plant/payload';
import type { ScoredEvent } from '@setwell/shared-models/score/shape';
import type { StationEvent } from '../journal/shape.ts';

/** Events that a requirement may be held against, each with the members it may carry. */
const evidenceKinds: readonly EventKind[] = [
  ...(['spread', 'assembled', 'mix', 'mix-discarded', 'coat', 'flash-off-start'] as const),
  ...(['abraded', 'piece-temperature', 'moisture', 'part-moved', 'test-result'] as const),
  'pressure-on',
];

/** Units stand last in their names. */
const numberNames = [
  ...['tempC', 'expandedK', 'pct', 'expandedPct', 'nPerMm2', 'expandedNPerMm2'],
  ...['gPerM2', 'expandedGPerM2', 'um', 'expandedUm', 'coat', 'storedMaxC'],
  ...['partsPer100', 'resinG', 'hardenerG', 'value', 'expanded'],
];

const textNames = ['mix', 'batch', 'method', 'unit', 'part'];

const longestText = 120;

/** What a payload says that a requirement can be held against; null where it says nothing of that kind. */
export function scoredEvent({
  event,
  earliestMs,
  latestMs,
  more,
}: StationEvent): ScoredEvent | null {
  const kind = eventKinds.find((each) => each === event);
  if (kind === undefined || !evidenceKinds.includes(kind)) return null;
  const numbers: Record<string, number> = {};
  const names: Record<string, string> = {};
  for (const name of numberNames) {
    const value = more[name];
    if (typeof value === 'number' && Number.isFinite(value)) numbers[name] = value;
  }
  const madeMs = timeOf(more['madeAt']);
  if (madeMs !== null) numbers['madeMs'] = madeMs;
  if (typeof more['passed'] === 'boolean') numbers['passed'] = more['passed'] ? 1 : 0;
  for (const name of textNames) {
    const value = more[name];
    if (typeof value === 'string' && value.length <= longestText) names[name] = value;
  }
  return { event: kind, earliestMs, latestMs, numbers, names };
}

/** Whether an event names a load, its lot or one of its parts. */
export function isSaidOf(
  { load, lot, parts }: StationEvent,
  opened: { load: string; lot: string; parts: string[] },
): boolean {
  if (load !== null) return load === opened.load;
  if (lot !== null && lot === opened.lot) return true;
  return parts.some((part) => opened.parts.includes(part));
}

/** What one load's evidence may take of the entry of its end, which ends at 64 KiB [bytes]. */
export const mostEvidenceBytes = 40 * 1024;

/**
 * By time; a broker may say a thing twice.
 *
 * @returns null where it would be more than `mostBytes`
 */
export function withEvent(
  events: readonly ScoredEvent[],
  added: ScoredEvent,
  mostBytes: number,
): ScoredEvent[] | null {
  const key = canonicalJson(added);
  if (events.some((known) => canonicalJson(known) === key)) return [...events];
  const bytes = Buffer.byteLength(canonicalJson(events)) + Buffer.byteLength(key);
  if (bytes > mostBytes) return null;
  return [...events, added].sort(
    (a, b) => a.earliestMs - b.earliestMs || (canonicalJson(a) < canonicalJson(b) ? -1 : 1),
  );
}
