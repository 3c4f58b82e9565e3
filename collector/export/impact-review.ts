import {
  reviewLoad,
  type AsFound,
  type Effect,
  type ReviewedLoad,
} from '@setwell/shared-models/condition/impact';
import type {
  InstrumentCalibrated,
  InstrumentFitted,
  LoadSealed,
} from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { parseReadings } from '@setwell/shared-models/score/readings';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import type { LedgerReader } from '../ledger/reader.ts';

export interface ImpactReview extends AsFound {
  /** What is known to have been right with it last: a certificate, or the log's beginning. */
  lastGoodBy: string;
  counts: Record<Effect, number>;
  /** Changed verdicts first, then by start. */
  loads: (ReviewedLoad & { station: string | null; lots: string[] })[];
}

/** When an instrument was last known to be right, and what says so. */
export interface LastGood {
  ms: number;
  by: string;
}

/** Nothing says that it was ever right. */
export const fromTheBeginning: LastGood = { ms: 0, by: 'the beginning of the ledger' };

const slice = 1000;
const order: Effect[] = ['verdict-changed', 'narrower', 'unaffected'];

/** Each entry of a ledger, oldest first. */
function* entriesOf(ledger: Pick<LedgerReader, 'entriesAfter'>): Generator<Entry> {
  for (let after = -1; ;) {
    const stored = ledger.entriesAfter(after, slice);
    for (const { bytes } of stored) yield JSON.parse(bytes.toString('utf8')) as Entry;
    if (stored.length < slice) return;
    after = stored.at(-1)?.n ?? after;
  }
}

/**
 * Every sealed load that an instrument took part in since it was last known to be right, scored again by
 * three hypotheses. Nothing is recorded or changed: what it means for a load, people decide.
 */
export function impactReview(
  ledger: Pick<LedgerReader, 'entriesAfter' | 'blob'>,
  instrument: string,
  errorK: number,
  foundMs: number,
  knownGood = fromTheBeginning,
): ImpactReview {
  let lastGood = knownGood;
  let lastEventMs: number | null = null;
  const effective = new Map<string, Entry<LoadSealed>>();
  for (const entry of entriesOf(ledger)) {
    if (entry.at > foundMs) continue;
    if (entry.kind === 'load-sealed' || entry.kind === 'load-amended') {
      effective.set(entry.about.load ?? '', entry as Entry<LoadSealed>);
    } else if (entry.kind === 'instrument-calibrated') {
      const { instrument: of, calibration } = entry.body as InstrumentCalibrated;
      // The review that is asked for is of the certificate that comes last: the one before counts.
      if (of === instrument && entry.at < foundMs && entry.at > lastGood.ms) {
        lastGood = { ms: entry.at, by: calibration.certificate };
      }
    } else if (entry.kind === 'instrument-fitted') {
      const { instrument: of, atMs } = entry.body as InstrumentFitted;
      if (of.id === instrument) lastEventMs = atMs;
    }
  }
  const found: AsFound = { instrument, errorK, lastGoodMs: lastGood.ms, foundMs, lastEventMs };
  const loads: ImpactReview['loads'] = [];
  for (const { body, about } of effective.values()) {
    if (body.endMs < lastGood.ms) continue;
    const input = ledger.blob(body.input.sha256)?.toString('utf8');
    const readings = ledger.blob(body.readings.sha256)?.toString('utf8');
    if (input === undefined || readings === undefined || body.worst === null) continue;
    const scored = JSON.parse(input) as ScoreInput;
    const reviewed = reviewLoad(scored, parseReadings(readings), found);
    if (reviewed === null) continue;
    loads.push({ ...reviewed, station: about.station ?? null, lots: about.lots ?? [] });
  }
  loads.sort((a, b) => order.indexOf(a.effect) - order.indexOf(b.effect) || a.startMs - b.startMs);
  const counts = { 'verdict-changed': 0, narrower: 0, unaffected: 0 };
  for (const { effect } of loads) counts[effect] += 1;
  return { ...found, lastGoodBy: lastGood.by, counts, loads };
}
