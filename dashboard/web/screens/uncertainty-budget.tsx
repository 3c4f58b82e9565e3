import type { PointWorth } from '@setwell/shared-models/api/points';
import type { ApprovedPlace } from '@setwell/shared-models/condition/surveyed-place';
import { say } from '../language.ts';
import { day, differenceText, number, whoText } from '../phrase.ts';

type Bounded = Extract<PointWorth, { kind: 'bounded' }>;

const freedomText = (degrees: number | null): string =>
  degrees === null ? '∞' : number(degrees, 0);

/** Whose figure the place is. */
function PlaceOf({ place: { survey, atMs, by } }: { place: ApprovedPlace }) {
  return (
    <>
      <br />
      <small>{say('doubt.placeOf', { survey, day: day(atMs), by: whoText(by) })}</small>
    </>
  );
}

function Row({ row, place }: { row: Bounded['rows'][number]; place: ApprovedPlace | null }) {
  return (
    <tr>
      <td>
        <b>{say(`doubt.${row.source}`)}</b>
        {row.source === 'place' && place !== null && <PlaceOf place={place} />}
      </td>
      <td data-col={say('budget.evaluation')}>{row.evaluation}</td>
      <td data-col={say('budget.distribution')}>{say(`distribution.${row.distribution}`)}</td>
      <td class="right" data-col={say('budget.value')}>
        {differenceText(row.valueK, 3)}
      </td>
      <td class="right" data-col={say('budget.divisor')}>
        {number(row.divisor, 3)}
      </td>
      <td class="right" data-col={say('budget.standard')}>
        {differenceText(row.standardK, 3)}
      </td>
      <td class="right" data-col={say('budget.share')}>
        {number(100 * row.share, 0)} %
      </td>
      <td class="right" data-col="ν">
        {freedomText(row.degreesOfFreedom)}
      </td>
    </tr>
  );
}

/** The budget as a metrologist reads it: value, divisor, standard uncertainty, share. */
export function UncertaintyBudget({ worth }: { worth: Bounded }) {
  const { rows, combinedK, expandedK, effectiveDegreesOfFreedom } = worth;
  return (
    <div class="table-wide" tabIndex={0} role="region" aria-label={say('sensor.worth')}>
      <table class="stacking">
        <thead>
          <tr>
            <th>{say('budget.source')}</th>
            <th>{say('budget.evaluation')}</th>
            <th>{say('budget.distribution')}</th>
            <th class="right">{say('budget.value')}</th>
            <th class="right">{say('budget.divisor')}</th>
            <th class="right">{say('budget.standard')}</th>
            <th class="right">{say('budget.share')}</th>
            <th class="right">ν</th>
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <Row key={row.source} row={row} place={worth.place} />
          ))}
        </tbody>
        <tfoot>
          <tr>
            <td colSpan={5}>
              <b>{say('budget.combined')}</b>
            </td>
            <td class="right" data-col={say('budget.standard')}>
              {differenceText(combinedK, 3)}
            </td>
            <td class="right" data-col="U">
              {say('budget.expanded', { u: differenceText(expandedK, 3) })}
            </td>
            <td class="right" data-col="ν">
              {freedomText(effectiveDegreesOfFreedom)}
            </td>
          </tr>
        </tfoot>
      </table>
    </div>
  );
}
