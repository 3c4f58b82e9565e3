import type { PlannedCalibration } from '@setwell/shared-models/metrology/due-calendar';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { dateText, daysText } from '../phrase.ts';

/** Calibrations due, in the order somebody walks; for a sheet of paper, a calendar, and labels. */
export function SensorsDueScreen() {
  const asked = useAsked<{ due: PlannedCalibration[] }>('/instruments/due?withinDays=60', 1);
  const due = asked.value?.due ?? [];
  return (
    <section class="section">
      <h1>{say('due.title')}</h1>
      {asked.error !== null && <p class="refused">{asked.error.message}</p>}
      {asked.value !== null && due.length === 0 && <p>{say('due.none')}</p>}
      <p class="acts-row">
        <a class="button" href="/api/v1/instruments/due.ics" download>
          {say('due.calendar')}
        </a>
        <button onClick={() => print()}>{say('due.print')}</button>
      </p>
      <ul class="labels">
        {due.map(({ point, station, instrument, certificate, due: date, daysLeft, by }) => (
          <li key={instrument} class="due-label">
            <b class="id">{instrument}</b>
            <span>
              {station ?? '–'} · {point}
            </span>
            <span>
              {certificate} · {dateText(date)} ·{' '}
              {daysLeft < 0 ? (
                <b class="overdue">{say('due.over', { days: daysText(-daysLeft) })}</b>
              ) : (
                say('due.left', { days: daysText(daysLeft) })
              )}
            </span>
            {by < date && <b>{say('due.by', { day: dateText(by) })}</b>}
            <span class="due-box">{say('due.done')}</span>
          </li>
        ))}
      </ul>
    </section>
  );
}
