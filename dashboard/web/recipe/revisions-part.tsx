import type { RecipeAct, RecipeDetail, RecipeRevision } from '@setwell/shared-models/api/recipe';
import type { RecipeChange } from '@setwell/shared-models/plant/recipe-changes';
import { say, sayAny } from '../language.ts';
import { momentText, whoText } from '../phrase.ts';

const actText = (what: 'approved' | 'withdrawn', { atMs, by, reason, n }: RecipeAct): string =>
  say(`recipe.revision.${what}`, {
    when: momentText(atMs),
    by: whoText(by),
    reason: sayAny(`recipe.reason.${reason}`, reason),
    n,
  });

function Changes({ changes }: { changes: RecipeChange[] }) {
  const [was, is] = [say('recipe.change.col.before'), say('recipe.change.col.after')];
  return (
    <table class="stacking changes">
      <thead>
        <tr>
          <th>{say('recipe.change.col.field')}</th>
          <th>{was}</th>
          <th>{is}</th>
        </tr>
      </thead>
      <tbody>
        {changes.map(({ field, before, after }) => (
          <tr key={field}>
            <td>
              <code>{field}</code>
            </td>
            <td data-col={was}>{before === null ? '–' : <s>{before}</s>}</td>
            <td data-col={is}>{after ?? '–'}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function whatChanged({ changes }: RecipeRevision, isFirst: boolean) {
  if (isFirst) return <p>{say('recipe.revision.first')}</p>;
  if (changes === null) return <p>{say('recipe.revision.unknown')}</p>;
  if (changes.length === 0) return <p>{say('recipe.revision.same')}</p>;
  return (
    <>
      <p>{say('recipe.revision.changed', { n: changes.length })}</p>
      <Changes changes={changes} />
    </>
  );
}

/** Who has set which revision, when, and what it says differently from the one before. */
export function RevisionsPart({
  detail: { revisions, revision: shown },
  look,
}: {
  detail: RecipeDetail;
  look: (revision: number) => void;
}) {
  return (
    <section class="section">
      <h2>{say('recipe.revisions')}</h2>
      <ol class="revisions">
        {revisions.map((each, i) => {
          const { revision, proposed, approved, withdrawn, sha256 } = each;
          const setBy = proposed !== null && proposed.by !== approved?.by;
          return (
            <li key={revision}>
              <h3>
                {say('recipe.revision', { revision })}
                {revision === shown && ` · ${say('recipe.revision.shown')}`}
              </h3>
              <p>
                {setBy &&
                  say('recipe.revision.proposed', {
                    when: momentText(proposed.atMs),
                    by: whoText(proposed.by),
                  })}{' '}
                {approved === null
                  ? say('recipe.revision.notApproved')
                  : actText('approved', approved)}{' '}
                {withdrawn !== null && actText('withdrawn', withdrawn)}
              </p>
              {whatChanged(each, i === revisions.length - 1)}
              <p class="soft digest">
                {say('recipe.digest')} <code>{sha256}</code>
              </p>
              {revision !== shown && (
                <button class="quiet no-print" onClick={() => look(revision)}>
                  {say('recipe.revision.look', { revision })}
                </button>
              )}
            </li>
          );
        })}
      </ol>
    </section>
  );
}
