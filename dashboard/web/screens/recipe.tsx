import '../recipe/recipe.css';
import { useState } from 'preact/hooks';
import type { RecipeDetail } from '@setwell/shared-models/api/recipe';
import { unansweredText } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { say, sayAny } from '../language.ts';
import { live } from '../live.ts';
import { duration } from '../phrase.ts';
import { LimitsPart, RequirementsPart } from '../recipe/asked-part.tsx';
import { LawPart } from '../recipe/law-part.tsx';
import { PiecePart } from '../recipe/piece-part.tsx';
import { RevisionsPart } from '../recipe/revisions-part.tsx';
import { WindowPart } from '../recipe/window-part.tsx';

function headText({ startable, revision, said }: RecipeDetail): string {
  const recipe = said?.recipe;
  const texts =
    startable === null
      ? [say('recipe.notNow')]
      : [
          say('recipe.now', {
            revision: startable,
            kind: recipe === undefined ? '' : sayAny(`station.${recipe.kind}`, recipe.kind),
          }),
        ];
  if (recipe?.plannedMin !== undefined) {
    texts.push(say('recipe.planned', { time: duration(recipe.plannedMin, true) }));
  }
  if (recipe?.kind === 'oven' && recipe.coat !== undefined) {
    texts.push(say('recipe.coat', { coat: recipe.coat }));
  }
  if (revision !== startable) texts.push(say('recipe.older', { revision }));
  return texts.join(' ');
}

function Back() {
  return (
    <a class="button no-print" href="/recipes">
      {say('recipe.back')}
    </a>
  );
}

/** What a recipe asks for, where each of its numbers comes from, and who has set them. */
export function RecipeScreen({ name }: { name: string }) {
  const [revision, setRevision] = useState<number | null>(null);
  const newest = live.value.site?.recipes.find(({ id }) => id === name)?.revision ?? 0;
  const which = revision === null ? '' : `?revision=${String(revision)}`;
  const { value: detail, error } = useAsked<RecipeDetail>(
    `/recipes/${encodeURIComponent(name)}${which}`,
    newest,
  );
  if (detail === null) {
    return (
      <section class="section">
        <h1 class="id">{name}</h1>
        <p>{error === null ? '…' : unansweredText(error, say('recipe.notKnown', { id: name }))}</p>
        <p>
          <Back />
        </p>
      </section>
    );
  }
  const { said } = detail;
  return (
    <article class="recipe">
      <section class="section">
        <h1>
          {said === null ? '' : `${said.recipe.title} · `}
          <span class="id">{name}</span>
        </h1>
        <p>
          <b>{headText(detail)}</b>
        </p>
        <div class="acts-row no-print">
          <Back />
          <button class="button" type="button" onClick={() => print()}>
            {say('load.print')}
          </button>
        </div>
      </section>
      {said === null ? (
        <section class="section">
          <p>{say('recipe.unread')}</p>
        </section>
      ) : (
        <>
          <WindowPart said={said} />
          <LawPart law={said.recipe.law} />
          <RequirementsPart recipe={said.recipe} unit={said.unit} />
          <LimitsPart limits={said.recipe.limits} />
          <PiecePart said={said} />
        </>
      )}
      <RevisionsPart detail={detail} look={setRevision} />
      {said !== null && (
        <section class="section no-print">
          <details>
            <summary>{say('recipe.text')}</summary>
            <pre tabIndex={0}>{said.text}</pre>
          </details>
        </section>
      )}
    </article>
  );
}
