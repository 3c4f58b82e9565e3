import type { ImpactNow, ImpactShown } from '@setwell/shared-models/api/points';
import { useState } from 'preact/hooks';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { clockFrom, day, differenceText, temperatureText } from '../phrase.ts';
import { loadAddress } from '../route.ts';

const firstLoads = 12;

function Loads({ review }: { review: ImpactShown }) {
  const [all, setAll] = useState(false);
  const told = review.loads.filter(({ effect }) => all || effect !== 'unaffected');
  const shown = all ? told : told.slice(0, firstLoads);
  return (
    <>
      {shown.length > 0 && (
        <div class="table-wide" tabIndex={0} role="region" aria-label={say('impact.loads')}>
          <table class="stacking">
            <thead>
              <tr>
                <th>{say('impact.col.load')}</th>
                <th>{say('impact.col.lots')}</th>
                <th>{say('impact.col.effect')}</th>
                <th>{say('impact.col.was')}</th>
                <th>{say('impact.col.from-the-start')}</th>
                <th>{say('impact.col.growing')}</th>
                <th>{say('impact.col.since-last-event')}</th>
              </tr>
            </thead>
            <tbody>
              {shown.map(({ load, lots, startMs, verdict, effect, by }) => (
                <tr key={load}>
                  <td class="id">
                    <a class="row-link" href={loadAddress(load)}>
                      <b>{load}</b>
                    </a>{' '}
                    <small>{clockFrom(startMs, 0)}</small>
                  </td>
                  <td class="id" data-col={say('impact.col.lots')}>
                    {lots.join(', ')}
                  </td>
                  <td data-col={say('impact.col.effect')}>
                    {effect === 'verdict-changed' ? (
                      <b>{say(`impact.${effect}`)}</b>
                    ) : (
                      say(`impact.${effect}`)
                    )}
                  </td>
                  <td data-col={say('impact.col.was')}>{say(`verdict.${verdict}`)}</td>
                  {(['from-the-start', 'growing', 'since-last-event'] as const).map((each) => (
                    <td key={each} data-col={say(`impact.col.${each}`)}>
                      {say(`verdict.${by[each].verdict}`)}
                    </td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {review.loads.length > shown.length && (
        <button onClick={() => setAll(true)}>{say('impact.showAll', { n: review.all })}</button>
      )}
    </>
  );
}

function Review({ review }: { review: ImpactShown }) {
  const { instrument, certificate, errorK, atC, lastGoodBy, lastGoodMs, counts, atMs } = review;
  return (
    <article class="impact">
      <h3>
        {say(errorK < 0 ? 'impact.head.low' : 'impact.head.high', {
          instrument,
          k: differenceText(Math.abs(errorK)),
          at: temperatureText(atC, 0),
        })}
      </h3>
      <p>
        {say('impact.rests', {
          certificate,
          day: day(atMs),
          good: lastGoodMs === 0 ? say('impact.ledgerBegan') : lastGoodBy,
        })}
      </p>
      <p class="num">
        <b>{say('impact.count.verdict-changed', { n: counts['verdict-changed'] })}</b> ·{' '}
        {say('impact.count.narrower', { n: counts.narrower })} ·{' '}
        {say('impact.count.unaffected', { n: counts.unaffected })}
      </p>
      <Loads review={review} />
    </article>
  );
}

/** Instruments that came back out of limits, and what they may have spoilt; nothing while none has. */
export function Impact({ turn }: { turn: number }) {
  const { value } = useAsked<ImpactNow>('/impact', turn);
  if (value === null || (value.reviews.length === 0 && value.running === null)) return null;
  return (
    <section class="section">
      <h2>{say('impact.title')}</h2>
      {value.running !== null && <p role="status">{say('impact.running', value.running)}</p>}
      {value.reviews.map((review) => (
        <Review key={review.n} review={review} />
      ))}
      {value.reviews.length > 0 && <small>{say('impact.hint')}</small>}
    </section>
  );
}
