import { Fragment } from 'preact';
import type { PointFitted } from '@setwell/shared-models/api/points';
import type { FoundFault } from '@setwell/shared-models/metrology/instrument-acts';
import { say, sayAny } from '../language.ts';
import { clockS, differenceText, momentText, number } from '../phrase.ts';

/** Kelvins as the screen shows differences, other numbers as they are. */
function shown(name: string, value: FoundFault['evidence'][string]): string {
  if (typeof value !== 'number') return value ?? '–';
  if (name.endsWith('K')) return differenceText(value);
  return number(value, Number.isInteger(value) || /Min$|S$/.test(name) ? 0 : 1);
}

/** What the rule holds against the point. */
function whyOf({ rule, evidence }: FoundFault): string {
  const values = Object.entries(evidence).map(
    ([name, value]) => [name, shown(name, value)] as const,
  );
  const isHours = rule === 'clock-off' && evidence['wholeHours'] != null;
  const key = `fault.why.${rule}${isHours ? '.hours' : ''}`;
  return sayAny(key, '', Object.fromEntries(values));
}

export const faultName = (rule: string): string => say(`fault.${rule}` as 'fault.open');

/** Faults that last, each with its evidence and what it does to the readings. */
export function FaultList({ faults }: { faults: readonly FoundFault[] }) {
  return (
    <ul class="faults">
      {faults.map((fault) => (
        <li key={fault.rule}>
          <p>
            <b>{faultName(fault.rule)}</b>{' '}
            {say(fault.doubts ? 'sensor.doubtedSince' : 'sensor.seenSince', {
              clock: clockS(fault.fromMs),
            })}
          </p>
          <p>{whyOf(fault)}</p>
          {fault.others.map((other) => (
            <a key={other} class="button id" href={`/sensors/${encodeURIComponent(other)}`}>
              {other}
            </a>
          ))}
        </li>
      ))}
    </ul>
  );
}

/** All points of the plant in whose readings something is wrong now. */
export function PlantFaults({ points }: { points: readonly PointFitted[] }) {
  const wrong = points.filter(({ faults }) => faults.length > 0);
  if (wrong.length === 0) return null;
  return (
    <section class="section">
      <h2>{say('sensors.faults')}</h2>
      {wrong.map(({ point, faults }) => (
        <Fragment key={point}>
          <h3 class="fault-point">
            <a class="row-link id" href={`/sensors/${encodeURIComponent(point)}`}>
              {point}
            </a>
          </h3>
          <FaultList faults={faults} />
        </Fragment>
      ))}
    </section>
  );
}

/** What was wrong before, newest first. */
export function PastFaults({ found }: { found: readonly FoundFault[] }) {
  return (
    <ul>
      {found.map(
        ({ rule, fromMs, toMs }) =>
          toMs !== null && (
            <li key={`${rule}${String(fromMs)}`}>
              {say('sensor.past', {
                clock: momentText(fromMs),
                fault: faultName(rule),
                over: momentText(toMs),
              })}
            </li>
          ),
      )}
    </ul>
  );
}
