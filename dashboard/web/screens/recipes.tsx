import '../recipe/recipe.css';
import { useState } from 'preact/hooks';
import type { RecipeRow } from '@setwell/shared-models/api/recipe';
import { useAsked } from '../asked.ts';
import { TextField } from '../field.tsx';
import { say, sayAny } from '../language.ts';
import { live } from '../live.ts';
import { bound, dayOfYear, duration, unitText, whoText } from '../phrase.ts';

/** As a product goes through the plant. */
const kinds = ['press', 'rack', 'oven', 'store', 'bench'] as const;

function windowText({ window }: RecipeRow): string {
  if (window === null) return '';
  const { least, most, unit } = window;
  const bounds =
    most === null
      ? say('recipe.atLeast', { bound: bound(least) })
      : say('range.words', { low: bound(least), high: bound(most) });
  return `${bounds} ${unitText(unit, true)}`;
}

function RecipeTable({ title, rows }: { title: string; rows: RecipeRow[] }) {
  if (rows.length === 0) return null;
  return (
    <section class="section">
      <h2>{title}</h2>
      <table class="stacking recipes">
        <thead>
          <tr>
            {(['recipe', 'title', 'window', 'planned', 'approved'] as const).map((col) => (
              <th key={col}>{say(`recipes.col.${col}`)}</th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr key={row.id}>
              <td>
                <a class="id row-link" href={`/recipes/${encodeURIComponent(row.id)}`}>
                  {row.id}
                </a>
              </td>
              <td>
                {row.title}
                {row.kind === null && <small class="soft"> {say('recipe.unread')}</small>}
              </td>
              <td data-col={say('recipes.col.window')}>{windowText(row)}</td>
              <td data-col={say('recipes.col.planned')}>
                {row.plannedMin === null ? '' : duration(row.plannedMin, true)}
              </td>
              <td data-col={say('recipes.col.approved')}>
                {say('recipe.revision', { revision: row.revision })}
                {row.approvedMs !== null &&
                  `, ${dayOfYear(row.approvedMs)}, ${whoText(row.approvedBy ?? '')}`}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

/** Every recipe of the plant, by the kind of station that it is for. */
export function RecipesScreen() {
  const [text, setText] = useState('');
  const version = (live.value.site?.recipes ?? [])
    .map(({ id, revision }) => `${id} ${String(revision)}`)
    .join();
  const { value, error } = useAsked<{ recipes: RecipeRow[] }>('/recipes', version);
  const wanted = text.trim().toLowerCase();
  const rows = (value?.recipes ?? []).filter(({ id, title }) =>
    `${id} ${title}`.toLowerCase().includes(wanted),
  );
  const startable = rows.filter((row) => row.startable);
  const gone = rows.filter((row) => !row.startable);
  return (
    <article class="recipe">
      <section class="section">
        <h1>{say('recipes.title')}</h1>
        <p>{say('recipes.what')}</p>
        {error !== null && <p class="refused">{error.message}</p>}
        {value === null && error === null && <p>…</p>}
        {value?.recipes.length === 0 && <p>{say('recipes.none')}</p>}
        {value !== null && value.recipes.length > 0 && (
          <TextField
            label={say('recipes.find')}
            type="search"
            value={text}
            maxLength={120}
            set={setText}
          />
        )}
        {wanted !== '' && value !== null && rows.length === 0 && (
          <p role="status">{say('recipes.nothingFound', { text: text.trim() })}</p>
        )}
      </section>
      {kinds.map((kind) => (
        <RecipeTable
          key={kind}
          title={sayAny(`station.${kind}`, kind)}
          rows={startable.filter((row) => row.kind === kind)}
        />
      ))}
      <RecipeTable
        title={say('recipes.unread')}
        rows={startable.filter((row) => row.kind === null)}
      />
      <RecipeTable title={say('recipes.gone', { n: gone.length })} rows={gone} />
    </article>
  );
}
