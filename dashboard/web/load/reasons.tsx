import type { Reason } from '@setwell/shared-models/score/shape';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import { rowMs, stations } from '../live.ts';
import { say, sayAny } from '../language.ts';
import { clockFrom, duration, measure, placeText, unitText, zoneText } from '../phrase.ts';

/** Nearest first; more than these are in the record. */
const shown = 8;

const clockOf = (ms: number): string => clockFrom(ms, rowMs.value);

/** A reason of the verdict as a sentence. */
function reasonText(reason: Reason, { station, unit, window }: FloorLoad): string {
  const isPress = stations.value.find(({ id }) => id === station)?.kind === 'press';
  const amount = (value: number): string => measure(value, window?.least ?? 1);
  const inUnit = unitText(unit);
  switch (reason.code) {
    case 'low-misses-least':
    case 'high-passes-most':
      return say(`reason.${reason.code}`, {
        by: amount(reason.by),
        unit: inUnit,
        place: placeText(reason),
      });
    case 'gap': {
      const { point, fromMs, toMs, cost } = reason;
      const times = { from: clockOf(fromMs), to: clockOf(toMs) };
      return say('reason.gap', { point, ...times, cost: amount(cost), unit: inUnit });
    }
    case 'no-reading': {
      const { zone, point } = reason;
      return point === null
        ? say('reason.no-point', { zone: zoneText(zone) })
        : say('reason.no-reading', { zone: zoneText(zone), point });
    }
    case 'start-stale': {
      const age = duration(Math.ceil(reason.ageMs / 60_000), true);
      return say('reason.start-stale', { zone: zoneText(reason.zone), point: reason.point, age });
    }
    case 'unproven-instrument':
      return say('reason.unproven-instrument', { point: reason.point });
    case 'fault': {
      const { point, rule, fromMs, toMs } = reason;
      const told = { point, fault: sayAny(`fault.${rule}`, rule), from: clockOf(fromMs) };
      return toMs === null
        ? say('reason.fault.lasts', told)
        : say('reason.fault', { ...told, to: clockOf(toMs) });
    }
    case 'marks-assumed':
      return say(isPress ? 'reason.marks-assumed.press' : 'reason.marks-assumed');
    case 'refused':
      return sayAny(
        `reason.refused.${reason.what}`,
        say('reason.refused', { what: zoneText(reason.what), because: reason.because }),
      );
    case 'requirement': {
      const { kind, verdict } = reason;
      return say('reason.requirement', {
        kind: sayAny(`kind.${kind}`, kind),
        verdict: say(`verdict.${verdict}`),
      });
    }
  }
}

/** Why a verdict is what it is; a load that is proven needs no reason. */
export function Reasons({ load, reasons }: { load: FloorLoad; reasons: Reason[] }) {
  if (load.verdict === 'in-window' || reasons.length === 0) return null;
  return (
    <section>
      <h2>{say('load.reasons')}</h2>
      <ul>
        {reasons.slice(0, shown).map((reason, i) => (
          <li key={i}>{reasonText(reason, load)}</li>
        ))}
      </ul>
    </section>
  );
}
