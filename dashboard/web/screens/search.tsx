import type { Found, Searched } from '@setwell/shared-models/api/search';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { rowMs } from '../live.ts';
import { clockFrom } from '../phrase.ts';
import { pageOf } from '../search/found.ts';

function FoundList({ found }: { found: Found[] }) {
  return (
    <table class="lots found stacking">
      <thead>
        <tr>
          <th class="col-lot">{say('search.col.name')}</th>
          <th>{say('search.col.what')}</th>
          <th class="hide-narrow">{say('search.col.where')}</th>
          <th class="hide-narrow">{say('search.col.last')}</th>
        </tr>
      </thead>
      <tbody>
        {found.map((each) => (
          <tr key={`${each.kind} ${each.id} ${each.at}`}>
            <td>
              <a class="id" href={pageOf(each)}>
                {each.id}
              </a>
            </td>
            <td>
              {each.at === each.id
                ? say(`search.kind.${each.kind}`)
                : say('search.of', { kind: say(`search.kind.${each.kind}`), at: each.at })}
            </td>
            <td class="hide-narrow">{each.stations.join(', ')}</td>
            <td class="hide-narrow id">
              {each.lastMs === null ? '' : clockFrom(each.lastMs, rowMs.value)}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** Nothing bears the name: what may have been meant, and where a scanner is looked into. */
function Nothing({ searched: { text, near } }: { searched: Searched }) {
  return (
    <>
      <p role="status">
        <b>{say('search.unknown', { text })}</b>{' '}
        {near.length > 0 && (
          <>
            {say('search.near')}{' '}
            {near.map((each, i) => (
              <span key={each.id}>
                {i > 0 ? ', ' : ''}
                <a class="id" href={pageOf(each)}>
                  {each.id}
                </a>{' '}
                {each.lastMs === null ? '' : `(${clockFrom(each.lastMs, rowMs.value)})`}
              </span>
            ))}
          </>
        )}
      </p>
      <p class="soft">{say('search.scanned')}</p>
      <p>
        <a class="button" href="/scanner">
          {say('scanner.title')}
        </a>
      </p>
    </>
  );
}

/** What a text may mean, where it is not one thing alone. */
export function SearchScreen({ name }: { name: string }) {
  const { value, error } = useAsked<Searched>(`/search?text=${encodeURIComponent(name)}`, 0);
  return (
    <section class="section">
      <h1>{say('search.title', { text: name })}</h1>
      {error !== null && <p class="refused">{error.message}</p>}
      {value?.withoutPoints === true && <p>{say('search.withoutPoints')}</p>}
      {value?.found.length === 0 && <Nothing searched={value} />}
      {value !== null && value.found.length > 0 && <FoundList found={value.found} />}
      {value?.isCut === true && <p>{say('search.more')}</p>}
    </section>
  );
}
