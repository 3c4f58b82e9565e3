import type { LoadDetail } from '@setwell/shared-models/api/dashboard';
import type { Deviation } from '@setwell/shared-models/score/shape';
import { say, sayAny } from '../language.ts';
import { rowMs } from '../live.ts';
import { clockFrom, zoneText } from '../phrase.ts';
import { amountText } from './amount.ts';

function deviationText({ phase, zone, what, side, by, unit, atMs }: Deviation): string {
  const values = {
    what: phase === 'requirement' ? sayAny(`kind.${what}`, what) : what,
    zone: zoneText(zone ?? ''),
    by: amountText(by, unit),
  };
  const text = say(`deviation.${phase}.${side}`, values);
  return atMs === null
    ? text
    : `${text} ${say('deviation.at', { clock: clockFrom(atMs, rowMs.value) })}`;
}

/** Breaches on the record that are no verdict: of the recipe's limits, and of mild requirements. */
export function Deviations({ detail: { deviations } }: { detail: LoadDetail }) {
  if (deviations.length === 0) return null;
  return (
    <section>
      <h2>{say('load.deviations')}</h2>
      <p class="soft">{say('load.deviations.what')}</p>
      <ul class="deviations">
        {deviations.map((deviation, i) => (
          <li key={i}>{deviationText(deviation)}</li>
        ))}
      </ul>
    </section>
  );
}
