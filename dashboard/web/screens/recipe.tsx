import type { ApprovedRecipe } from '@setwell/shared-models/api/dashboard';
import type { LiveSite } from '@setwell/shared-models/api/floor';
import { useAsked } from '../asked.ts';
import { say, sayAny } from '../language.ts';
import { duration, momentText, whoText } from '../phrase.ts';

interface Known {
  recipes: LiveSite['recipes'];
  revisions: ApprovedRecipe[];
}

/** One recipe: what may be started by it now, and who approved which revision. */
export function RecipeScreen({ name }: { name: string }) {
  const { value, error } = useAsked<Known>('/recipes', 0);
  const now = value?.recipes.find(({ id }) => id === name);
  const revisions = (value?.revisions ?? []).filter(({ id }) => id === name).reverse();
  return (
    <section class="section">
      <h1>
        {now === undefined ? '' : `${now.title} · `}
        <span class="id">{name}</span>
      </h1>
      {error !== null && <p class="refused">{error.message}</p>}
      {value !== null && revisions.length === 0 && <p>{say('recipe.notKnown', { id: name })}</p>}
      {now !== undefined && (
        <p>
          {say('recipe.now', {
            revision: now.revision,
            kind: sayAny(`station.${now.kind}`, now.kind),
          })}{' '}
          {now.plannedMin !== null &&
            say('recipe.planned', { time: duration(now.plannedMin, true) })}
        </p>
      )}
      {value !== null && revisions.length > 0 && now === undefined && <p>{say('recipe.notNow')}</p>}
      {revisions.length > 0 && (
        <table class="stacking">
          <thead>
            <tr>
              <th>{say('recipe.col.revision')}</th>
              <th>{say('recipe.col.approved')}</th>
              <th>{say('recipe.col.by')}</th>
            </tr>
          </thead>
          <tbody>
            {revisions.map(({ revision, approvedMs, approvedBy }) => (
              <tr key={revision}>
                <td data-col={say('recipe.col.revision')}>{revision}</td>
                <td data-col={say('recipe.col.approved')}>{momentText(approvedMs)}</td>
                <td data-col={say('recipe.col.by')}>{whoText(approvedBy)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </section>
  );
}
