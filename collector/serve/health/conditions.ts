import { cutText } from '@setwell/shared-models/record/well-formed';
import type { Condition, HealthNow } from '@setwell/shared-models/api/health';
import type { CallCleared, CallRaised } from '@setwell/shared-models/record/bodies';
import type { LedgerFold } from '../../judge/ledger-fold.ts';
import type { Proposal } from '../../ledger/shape.ts';

/** A long history that is further behind is nobody's slow network any more [s]. */
const uplinkBehindS = 900;
/** A judge that is further behind gives no advice any more [ms of wall time]. */
const judgeBehindMs = 60_000;
/** Ours, when most devices disagree with it by more than a reading may be ahead [ms]. */
const clockOffMs = 10_000;
/** So many devices with a clock of their own are a majority worth listening to. */
const leastClocks = 3;

/**
 * What somebody has to be called for, from what is known now.
 *
 * @param topics those above twenty messages a second, and each point's clock before ours [ms]
 * @param rate plant time per wall time
 */
export function conditionsOf(
  health: Omit<HealthNow, 'conditions' | 'points' | 'upkeep' | 'beganMs'>,
  topics: { fast: string[]; offsetsMs: (number | null)[] },
  rate: number,
): Condition[] {
  const { broker, clock, disk, journal, judge, targets } = health;
  const found: Condition[] = [];
  const add = (code: Condition['code'], subject = '', values: Condition['values'] = {}) => {
    found.push({ code, subject, values });
  };
  const percent = Math.round(disk.used * 100);
  if (disk.used >= disk.refuse) add('disk-full', '', { percent });
  else if (disk.used >= disk.call) add('disk', '', { percent });
  for (const topic of topics.fast) add('topic-fast', topic, { topic });
  for (const { target, lagSeconds, fault } of targets) {
    if (lagSeconds / rate <= uplinkBehindS) continue;
    const minutes = Math.round(lagSeconds / rate / 60);
    add('uplink-behind', target, { minutes, fault: cutText(fault ?? '', 200) });
  }
  if (clock.synchronised === false) add('clock-unsynchronised');
  const offMs = clockOff(topics.offsetsMs);
  if (offMs !== null) add('clock-off', '', { seconds: Math.round(Math.abs(offMs) / 1000) });
  if (judge.behindMs > judgeBehindMs * rate) {
    add('judge-behind', '', { seconds: Math.round(judge.behindMs / rate / 1000) });
  }
  if (broker.connected && broker.faults.length > 0) {
    add('broker-fault', '', { fault: cutText(broker.faults[0] ?? '', 200) });
  }
  const [firstSeq] = journal.unreadable;
  if (firstSeq !== undefined) {
    add('journal-damaged', '', { n: journal.unreadable.length, seq: firstSeq });
  }
  return found;
}

/** The median of the devices' clocks before ours, where it says that ours is the wrong one [ms]. */
function clockOff(offsets: (number | null)[]): number | null {
  const known = offsets.filter((offset) => offset !== null).sort((a, b) => a - b);
  const median = known[Math.floor(known.length / 2)];
  if (known.length < leastClocks || median === undefined) return null;
  // Behind ours is what a slow gateway is too: only a clock before ours tells.
  return median > clockOffMs ? median : null;
}

/** Calls for the conditions that have none yet; those that are over are cleared. */
export function callsOfConditions(
  conditions: Condition[],
  fold: LedgerFold,
  nowMs: number,
): Proposal[] {
  const up = new Map([...fold.calls].filter(([id]) => id.startsWith('condition.')));
  const proposals: Proposal[] = [];
  for (const { code, subject, values } of conditions) {
    const known = [...up].find(
      ([, { raised }]) => raised.values['because'] === code && raised.values['subject'] === subject,
    );
    if (known) {
      up.delete(known[0]);
      continue;
    }
    const name = subject === '' ? code : `${code}.${cutText(subject, 200)}`;
    const call = `condition.${name}.${nowMs}`;
    const body: CallRaised = {
      kind: 'collector',
      station: null,
      load: null,
      point: null,
      who: 'administrator',
      tooLateMs: null,
      values: { because: code, subject, ...values },
    };
    proposals.push({ kind: 'call-raised', by: 'collector', about: { call }, body });
  }
  for (const call of up.keys()) {
    const body: CallCleared = { because: 'recovered' };
    proposals.push({ kind: 'call-cleared', by: 'collector', about: { call }, body });
  }
  return proposals;
}
