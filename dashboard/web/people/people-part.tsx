import { jobs, type Person } from '@setwell/shared-models/api/people';
import { TextField } from '../field.tsx';
import { say } from '../language.ts';
import { day } from '../phrase.ts';
import { may, me } from './me.ts';
import { Told } from '../told.tsx';
import { Part } from './settings.tsx';
import { useListed } from './use-listed.ts';

/** Accounts of auditors end by themselves [ms]; a longer visit is a new account. */
const auditorMs = 30 * 86_400_000;

/** Everybody the plant knows, and how somebody is let in. */
export function PeoplePart() {
  const { value, sent, change } = useListed<{ people: Person[] }>('/people');
  const administer = may('administer');
  return (
    <Part title={say('people.people')}>
      <Told sent={sent} />
      {value?.people.length === 0 ? (
        <p>{say('people.nobody')}</p>
      ) : (
        <PeopleTable people={value?.people ?? []} change={change} />
      )}
      {administer && <LetIn send={(body) => change('/people', body)} />}
    </Part>
  );
}

interface PeopleTableParts {
  people: Person[];
  change: (address: string, body: object) => void;
}

function PeopleTable({ people, change }: PeopleTableParts) {
  const administer = may('administer');
  return (
    <div class="table-wide">
      <table>
        <thead>
          <tr>
            <th>{say('people.number')}</th>
            <th>{say('people.name')}</th>
            <th>{say('people.jobs')}</th>
            <th>{say('people.halls')}</th>
            <th>{say('people.until')}</th>
            {administer && <th>{say('people.acts')}</th>}
          </tr>
        </thead>
        <tbody>
          {people.map((person) => (
            <tr key={person.id}>
              <td class="num">{person.id}</td>
              <td>{person.name}</td>
              <td>{person.jobs.map((job) => say(`person.${job}`)).join(', ')}</td>
              <td>{person.halls?.join(', ') ?? say('people.everyHall')}</td>
              <td>{endOf(person)}</td>
              {administer && (
                <td>
                  {person.revokedMs === null ? (
                    <button onClick={() => change(`/people/${person.id}/revoke`, {})}>
                      {say('people.letOut')}
                    </button>
                  ) : (
                    person.name !== person.id && (
                      <button onClick={() => change(`/people/${person.id}/erase`, {})}>
                        {say('people.forget')}
                      </button>
                    )
                  )}
                </td>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function endOf({ revokedMs, endsMs }: Person): string {
  if (revokedMs !== null) return say('people.out', { day: day(revokedMs) });
  return endsMs === null ? say('people.noEnd') : day(endsMs);
}

function LetIn({ send }: { send: (body: object) => void }) {
  return (
    <details>
      <summary>{say('people.letIn')}</summary>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          const form = new FormData(event.currentTarget);
          const text = (name: string) => String(form.get(name) ?? '').trim();
          const chosen = form.getAll('job').map(String);
          const halls = text('halls')
            .split(',')
            .map((hall) => hall.trim())
            .filter((hall) => hall !== '');
          send({
            name: text('name'),
            jobs: chosen,
            ...(text('password') === '' ? {} : { password: text('password') }),
            ...(text('pin') === '' ? {} : { pin: text('pin') }),
            ...(text('badge') === '' ? {} : { badge: text('badge') }),
            ...(text('subject') === '' ? {} : { subject: text('subject') }),
            halls: halls.length === 0 ? null : halls,
            endsMs: chosen.includes('auditor') ? Date.now() + auditorMs : null,
          });
        }}
      >
        <TextField name="name" label={say('people.name')} autocomplete="off" required />
        <fieldset class="choices">
          <legend>{say('people.jobs')}</legend>
          {jobs.map((job) => (
            <label key={job}>
              <input type="checkbox" name="job" value={job} />
              <span>{say(`person.${job}`)}</span>
            </label>
          ))}
        </fieldset>
        <TextField name="halls" label={say('people.hallsOnly')} />
        <TextField
          name="password"
          label={say('people.newPassword')}
          type="password"
          autocomplete="new-password"
        />
        <TextField name="pin" label={say('people.newPin')} inputMode="numeric" autocomplete="off" />
        <TextField name="badge" label={say('people.newBadge')} autocomplete="off" />
        {me.value?.signOn != null && (
          <TextField
            name="subject"
            label={say('people.subject', { service: me.value.signOn })}
            autocomplete="off"
          />
        )}
        <p class="soft">{say('people.auditorEnds')}</p>
        <button class="main">{say('people.letIn')}</button>
      </form>
    </details>
  );
}
