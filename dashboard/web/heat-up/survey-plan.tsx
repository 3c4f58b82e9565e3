import { gridNamed, type SurveyGrid } from '@setwell/shared-models/condition/survey-figures';
import { language, say } from '../language.ts';

/** Where and in which order, how long to wait, and what to bring: to be read before anybody goes there. */
export interface Plan {
  /** Rows x columns, as typed. */
  grid: string;
  /** In their order; empty: whatever a logger's columns will be called. */
  points: readonly string[];
  from: 'live' | 'file';
  soakMin: number;
  station: string;
  goal: { setPointC: number; toleranceK: number };
}

/** What columns are called where nobody has named them. */
const usualNames = (count: number) => Array.from({ length: count }, (_, i) => `s${String(i + 1)}`);

/** The plan on paper, where all that it takes is known. */
function PlanSheet({ plan, names }: { plan: Plan; names: readonly string[] }) {
  const { grid, from, soakMin, station, goal } = plan;
  if (!(goal.toleranceK > 0) || !Number.isFinite(goal.setPointC)) return null;
  const query = new URLSearchParams({
    points: names.join(','),
    ...(gridNamed(grid) === null ? {} : { grid }),
    setPointC: String(round(goal.setPointC)),
    toleranceK: String(round(goal.toleranceK)),
    soakMin: String(soakMin),
    from,
    language: language.value,
  });
  const sheet = `/api/v1/surveys/${encodeURIComponent(station)}/plan?${query.toString()}`;
  return (
    <div class="acts-row no-print">
      <a class="button" href={sheet} download>
        {say('survey.plan.sheet')}
      </a>
    </div>
  );
}

/** Typed in °F it would say more digits than anybody meant. */
function round(value: number): number {
  return Math.round(value * 100) / 100;
}

export function SurveyPlan(plan: Plan) {
  const { grid, points, from, soakMin } = plan;
  const lies = gridNamed(grid);
  const places = lies === null ? points.length : lies.rows * lies.columns;
  const names = points.length > 0 ? points : usualNames(places);
  if (names.length === 0) return null;
  const fits = lies === null || places === names.length;
  return (
    <section class="survey-plan" aria-label={say('survey.plan')}>
      <h3>{say('survey.plan')}</h3>
      {!fits && (
        <p class="refused">{say('survey.plan.off', { grid, places, points: names.length })}</p>
      )}
      <ol class="survey-map num" style={{ gridTemplateColumns: gridColumns(lies, names.length) }}>
        {names.map((name, i) => (
          <li key={name}>
            <b>{i + 1}</b>
            <span>{name}</span>
          </li>
        ))}
      </ol>
      <p>{say('survey.plan.order')}</p>
      <ol class="survey-steps">
        <li>{say(from === 'live' ? 'survey.plan.own' : 'survey.plan.loose')}</li>
        <li>{say('survey.plan.wait')}</li>
        <li>{say('survey.plan.soak', { min: soakMin })}</li>
        {from === 'file' && (
          <li>
            {say('survey.plan.file')} <code>{['time_s', ...names].join(',')}</code>
          </li>
        )}
      </ol>
      {fits && <PlanSheet plan={plan} names={names} />}
    </section>
  );
}

/** Places as they lie: where nobody has said, in one row, or as square as they are. */
export function gridColumns(grid: SurveyGrid | null, places: number): string {
  return `repeat(${grid?.columns ?? Math.min(3, places)}, minmax(0, 1fr))`;
}

/** What the columns of a logger's file are called, but its time. */
export function headingsOf(text: string): string[] {
  const [first = ''] = text.split(/\r?\n/, 1);
  return first
    .replace(/^\uFEFF/, '')
    .split(/[,;\t]/)
    .map((heading) => heading.trim().replaceAll('"', ''))
    .filter((heading) => heading !== '' && heading !== 'time_s');
}
