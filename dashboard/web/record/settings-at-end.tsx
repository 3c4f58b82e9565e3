import type { SettingsThen } from '@setwell/shared-models/record/settings-then';
import { say, sayAny } from '../language.ts';
import { whoText } from '../phrase.ts';

/** Who could do what, and by which recipes, when the period ended. */
export function SettingsAtEnd({
  then: { rights, recipes },
  day: date,
}: {
  then: SettingsThen;
  day: string;
}) {
  return (
    <>
      <h3>{say('records.then', { day: date })}</h3>
      <ul>
        {rights.map(({ person, jobs, halls, sinceN }) => (
          <li key={person}>
            {say('records.then.right', {
              person: whoText(person),
              jobs: jobs.map((job) => sayAny(`person.${job}`, job)).join(', '),
              halls: halls === null ? '' : ` (${halls.join(', ')})`,
              n: sinceN,
            })}
          </li>
        ))}
        {recipes.map(({ id, revision, by, sinceN }) => (
          <li key={id}>
            {say('records.then.recipe', { id, revision, by: whoText(by), n: sinceN })}
          </li>
        ))}
      </ul>
      {rights.length + recipes.length === 0 && <p>{say('records.none')}</p>}
    </>
  );
}
