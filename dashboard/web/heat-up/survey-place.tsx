import type { StationSurveys, SurveyShown } from '@setwell/shared-models/api/heat-up';
import { useState } from 'preact/hooks';
import { say } from '../language.ts';
import { day, differenceText, whoText } from '../phrase.ts';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';

/** What a survey says of a place in its zone, beside what counts; a person takes it over. */
export function SurveyPlace({
  survey: { n, station, survey, placeK, offeredK, recipes },
  place,
}: {
  survey: SurveyShown;
  place: StationSurveys['place'];
}) {
  const [asking, setAsking] = useState(false);
  const { sent, send } = useSending();
  const offered = differenceText(offeredK);
  const approve = () => {
    const address = `/stations/${encodeURIComponent(station)}/place`;
    send(address, { survey, placeK: offeredK, n }, say('heat.proposals.approved'));
  };
  const isInForce = place?.survey === survey && place.placeK === offeredK;
  return (
    <>
      <p class="num">{say('survey.place', { k: differenceText(placeK) })}</p>
      <small class="num">
        {place === null
          ? say('survey.place.none')
          : say('survey.place.inForce', {
              k: differenceText(place.placeK),
              survey: place.survey,
              day: day(place.atMs),
              by: whoText(place.by),
            })}
      </small>
      {recipes.map((recipe) => (
        <small key={recipe.title} class="num">
          {recipe.placeK === null
            ? say('survey.place.recipeNone', { recipe: recipe.title })
            : say('survey.place.recipe', {
                recipe: recipe.title,
                k: differenceText(recipe.placeK),
              })}
        </small>
      ))}
      {!isInForce && sent.state !== 'done' && (
        <div class="acts-row no-print">
          {asking ? (
            <>
              <button onClick={() => setAsking(false)}>{say('act.cancel')}</button>
              <button class="main" disabled={sent.state === 'sending'} onClick={approve}>
                {say('survey.place.confirm', { k: offered, station })}
              </button>
            </>
          ) : (
            <button
              aria-label={say('survey.place.approveOf', { survey })}
              onClick={() => setAsking(true)}
            >
              {say('survey.place.approve', { k: offered })}
            </button>
          )}
        </div>
      )}
      {asking && sent.state !== 'done' && <small>{say('survey.place.hint')}</small>}
      <Told sent={sent} />
    </>
  );
}
