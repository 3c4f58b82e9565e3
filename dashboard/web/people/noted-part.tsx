import { useAsked } from '../asked.ts';
import { say, sayAny } from '../language.ts';
import { clockS, day } from '../phrase.ts';
import { Part } from './settings.tsx';

interface Noted {
  ms: number;
  what: string;
  person: string | null;
  origin: string;
}

const shown = 100;

/** Sign-ins and refusals, for whoever guards the plant. */
export function NotedPart() {
  const { value } = useAsked<{ noted: Noted[] }>(`/people/noted?limit=${String(shown)}`, 0);
  return (
    <Part title={say('noted.title')}>
      <details>
        <summary>{say('noted.show')}</summary>
        <p class="soft">{say('noted.how')}</p>
        <div class="table-wide" tabIndex={0} role="region" aria-label={say('noted.title')}>
          <table>
            <thead>
              <tr>
                <th>{say('noted.when')}</th>
                <th>{say('noted.what')}</th>
                <th>{say('people.number')}</th>
                <th>{say('noted.from')}</th>
              </tr>
            </thead>
            <tbody>
              {(value?.noted ?? []).map(({ ms, what, person, origin }, i) => (
                <tr key={i}>
                  <td>
                    {day(ms)} {clockS(ms)}
                  </td>
                  <td>{wordsOf(what)}</td>
                  <td class="num">{person ?? '–'}</td>
                  <td class="num">{origin}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </details>
    </Part>
  );
}

/** `sign-in-refused` is a way in and what became of it; `refused-decide` names the right. */
function wordsOf(what: string): string {
  const right = /^refused-(.+)$/.exec(what)?.[1];
  if (right !== undefined) return say('noted.noRight', { right });
  const of = /^secrets-of-(.+)$/.exec(what)?.[1];
  if (of !== undefined) return say('noted.secretsOf', { person: of });
  const [, way = what, end = ''] = /^(.+?)(-refused|-waits)?$/.exec(what) ?? [];
  const outcome = end === '' ? '' : `: ${sayAny(`noted.end${end}`, end)}`;
  return `${sayAny(`noted.${way}`, way)}${outcome}`;
}
