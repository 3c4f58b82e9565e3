import type { HeatUpReport, ProposedLimit } from '@setwell/shared-models/api/heat-up';
import { isRate, type LimitKey } from '@setwell/shared-models/condition/proposal';
import { useState } from 'preact/hooks';
import { day, differenceText, number, temperatureText } from '../phrase.ts';
import { say } from '../language.ts';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';

function valueOf(key: LimitKey, value: number | null): string {
  if (value === null) return '–';
  if (isRate(key)) return `${differenceText(value)}/min`;
  return key === 'recovery.withinMin' ? `${number(value, 1)} min` : temperatureText(value, 0);
}

function Proposed({ limit, station }: { limit: ProposedLimit; station: string }) {
  const [asking, setAsking] = useState(false);
  const { sent, send } = useSending();
  const { key, value, seen, cycles, inForce, approved, recipes } = limit;
  const title = say(`heat.limit.${key}`);
  const approve = () => {
    const address = `/stations/${encodeURIComponent(station)}/limits`;
    send(address, { key, value, cycles, seen }, say('heat.proposals.approved'));
  };
  return (
    <li class="job">
      <p>
        {title}: <b class="num">{valueOf(key, value)}</b>{' '}
        <small class="num">
          {say('heat.proposals.rests', { seen: valueOf(key, seen), n: cycles })}
        </small>
      </p>
      <small>
        {inForce === null
          ? say('heat.proposals.noneInForce')
          : say('heat.proposals.inForce', { value: valueOf(key, inForce) })}
        {approved !== null &&
          ` ${say('heat.proposals.by', { by: approved.by, day: day(approved.atMs) })}`}
        {isRate(key) && inForce !== null && inForce < seen && (
          <b> {say('heat.proposals.tooNarrow')}</b>
        )}
      </small>
      {recipes.map((recipe) => (
        <small key={recipe.title}>
          {say('heat.proposals.recipe', {
            recipe: recipe.title,
            value: valueOf(key, recipe.value),
          })}
        </small>
      ))}
      {inForce !== value && sent.state !== 'done' && (
        <div class="acts-row no-print">
          {asking ? (
            <>
              <button onClick={() => setAsking(false)}>{say('act.cancel')}</button>
              <button class="main" disabled={sent.state === 'sending'} onClick={approve}>
                {say('heat.proposals.confirm', { value: valueOf(key, value) })}
              </button>
            </>
          ) : (
            <button
              aria-label={`${say('heat.proposals.approve')} ${title}`}
              onClick={() => setAsking(true)}
            >
              {say('heat.proposals.approve')}
            </button>
          )}
        </div>
      )}
      <Told sent={sent} />
    </li>
  );
}

/** What the station's own cycles say its limits are, beside what counts; a person takes them over. */
export function Proposals({ report: { proposals, station } }: { report: HeatUpReport }) {
  if (proposals.length === 0) return null;
  return (
    <section class="section no-print">
      <h2>{say('heat.proposals')}</h2>
      <ul class="jobs">
        {proposals.map((limit) => (
          <Proposed key={limit.key} limit={limit} station={station} />
        ))}
      </ul>
      <small>{say('heat.proposals.hint')}</small>
    </section>
  );
}
