import { say } from '../language.ts';
import { site } from '../live.ts';
import type { MessageKey } from '../messages/en.ts';

const kept = ['record', 'names', 'signIns', 'backups', 'walls', 'screens'] as const;
const questions = ['never', 'erase', 'who', 'ask'] as const;

/** What an employees' council asks: what is kept of a person, where, for how long, and what is never made of it. */
export function PeopleKeptScreen() {
  const values = { days: site.value?.namesKeptD ?? 400 };
  return (
    <section class="section people-kept">
      <h1>{say('privacy.title')}</h1>
      <p>{say('privacy.intro')}</p>
      <div class="table-wide" tabIndex={0} role="region" aria-label={say('privacy.title')}>
        <table class="stacking">
          <thead>
            <tr>
              <th>{say('privacy.col.what')}</th>
              <th>{say('privacy.col.where')}</th>
              <th>{say('privacy.col.long')}</th>
              <th>{say('privacy.col.who')}</th>
            </tr>
          </thead>
          <tbody>
            {kept.map((row) => (
              <tr key={row}>
                {(['what', 'where', 'long', 'who'] as const).map((column) => (
                  <td key={column} data-col={say(`privacy.col.${column}`)}>
                    {say(`privacy.${row}.${column}` as MessageKey, values)}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {questions.map((question) => (
        <div key={question}>
          <h2>{say(`privacy.${question}`)}</h2>
          <p>{say(`privacy.${question}.text` as MessageKey, values)}</p>
        </div>
      ))}
      <p class="soft">{say('privacy.law')}</p>
    </section>
  );
}
