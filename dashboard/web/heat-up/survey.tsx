import type { StationSurveys, SurveyShown } from '@setwell/shared-models/api/heat-up';
import { useState } from 'preact/hooks';
import { useAsked } from '../asked.ts';
import { shownDegrees } from '../degrees.ts';
import { language, say } from '../language.ts';
import {
  day,
  differenceText,
  number,
  signedDifference,
  temperatureText,
  whoText,
} from '../phrase.ts';
import { SurveyForm } from './survey-form.tsx';
import { SurveyPlace } from './survey-place.tsx';
import { gridColumns } from './survey-plan.tsx';

/** The plate as the operator sees it: a thicker frame is farther from the set point. */
export function SurveyMap({
  survey,
}: {
  survey: Pick<SurveyShown, 'figures' | 'grid' | 'setPointC' | 'toleranceK'>;
}) {
  const { figures, setPointC, toleranceK } = survey;
  const columns = { gridTemplateColumns: gridColumns(survey.grid, figures.means.length) };
  return (
    <ul class="survey-map num" style={columns}>
      {figures.means.map(({ point, c }, i) => {
        const share = Math.min(1, Math.abs(c - setPointC) / toleranceK);
        return (
          <li key={point} data-off={share >= 1 ? 'out' : share > 0.5 ? 'far' : 'near'}>
            <small>{point}</small>
            <b>{number(shownDegrees(c), 1)}</b>
            <span>{signedDifference(c - setPointC)}</span>
            <small>± {differenceText(figures.fluctuationK[i]?.k ?? 0)}</small>
          </li>
        );
      })}
    </ul>
  );
}

function Compared({ comparison }: { comparison: NonNullable<SurveyShown['comparison']> }) {
  const [most] = comparison.points;
  return (
    <p class="num">
      {say('survey.compared', {
        survey: comparison.survey,
        day: day(comparison.atMs),
        k: signedDifference(comparison.uniformityK),
      })}{' '}
      {most !== undefined &&
        say('survey.moved', { point: most.point, k: signedDifference(most.changeK) })}{' '}
      {comparison.exchanged !== null && (
        <b>{say('survey.exchanged', { points: comparison.exchanged.join(', ') })}</b>
      )}
    </p>
  );
}

function Shown({ survey, place }: { survey: SurveyShown; place: StationSurveys['place'] }) {
  const { figures, setPointC, toleranceK, soak, person, source, atMs } = survey;
  const sheet = `/api/v1/surveys/${encodeURIComponent(survey.station)}/${encodeURIComponent(survey.survey)}/sheet?language=${language.value}`;
  return (
    <li class="job">
      <p>
        <b class="id">{survey.survey}</b> {day(atMs)} ·{' '}
        <b>{say(figures.inside ? 'survey.inside' : 'survey.outside')}</b>{' '}
        <span class="num">
          {temperatureText(setPointC, 0)} ± {differenceText(toleranceK)}
        </span>
      </p>
      <SurveyMap survey={survey} />
      <p class="num">
        {say('survey.figures', {
          uniformity: differenceText(figures.uniformityK),
          worst: signedDifference(figures.worstDeviationK),
          point: figures.worst.point,
        })}
      </p>
      <small class="num">
        {say('survey.soak', { min: Math.round((soak.toS - soak.fromS) / 60), n: soak.samples })} ·{' '}
        {source.kind === 'file' ? source.name : say('survey.live')} · {whoText(person)}
      </small>
      {survey.comparison !== null && <Compared comparison={survey.comparison} />}
      <SurveyPlace survey={survey} place={place} />
      {survey.note !== '' && <small>{survey.note}</small>}
      <div class="acts-row no-print">
        <a class="button" href={sheet} download>
          {say('survey.sheet')}
        </a>
      </div>
    </li>
  );
}

/** Surveys of the station: the newest whole, the earlier ones when asked for; and the way to a new one. */
export function Surveys({ station, turn }: { station: string; turn: number }) {
  const [taking, setTaking] = useState(false);
  const [all, setAll] = useState(false);
  const { value, error } = useAsked<StationSurveys>(
    `/surveys/${encodeURIComponent(station)}`,
    turn,
  );
  if (value === null) return error === null ? null : <p class="refused">{error.message}</p>;
  const { surveys } = value;
  return (
    <section class="section">
      <h2>{say('survey.title')}</h2>
      {surveys.length === 0 && <p>{say('survey.none')}</p>}
      <ul class="jobs">
        {surveys.slice(0, all ? undefined : 1).map((survey) => (
          <Shown key={survey.n} survey={survey} place={value.place} />
        ))}
      </ul>
      <div class="acts-row no-print">
        {surveys.length > 1 && (
          <button onClick={() => setAll(!all)} aria-expanded={all}>
            {say(all ? 'survey.newestOnly' : 'survey.earlier', { n: surveys.length - 1 })}
          </button>
        )}
        {!taking && value.points.length > 1 && (
          <button onClick={() => setTaking(true)}>{say('survey.take')}</button>
        )}
      </div>
      {taking && (
        <SurveyForm
          known={value}
          setPointC={surveys[0]?.setPointC ?? null}
          close={() => setTaking(false)}
        />
      )}
    </section>
  );
}
