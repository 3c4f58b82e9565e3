import { useState } from 'preact/hooks';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import { act } from '../ask.ts';
import { live, stations } from '../live.ts';
import { Field, TextField } from '../field.tsx';
import { say } from '../language.ts';
import { asPerson } from '../person.ts';
import { useOutcome } from '../sent.ts';
import { Told } from '../told.tsx';

const mostCharacters = 120;

/** Names a load that came without its lot or its recipe: until then nothing is judged. */
export function NameLoad({ load }: { load: FloorLoad }) {
  const [lot, setLot] = useState('');
  const [recipe, setRecipe] = useState('');
  const { sent, follow, refuse } = useOutcome();
  const needsLot = load.lot === '';
  const needsRecipe = load.recipe === null;
  if ((!needsLot && !needsRecipe) || load.state !== 'open') return <Told sent={sent} />;
  const kind = stations.value.find(({ id }) => id === load.station)?.kind;
  const recipes = (live.value.site?.recipes ?? []).filter((each) => each.kind === kind);
  const correct = async (by: string): Promise<void> => {
    const address = `/loads/${encodeURIComponent(load.load)}/correct`;
    const reason = say('name.reason');
    if (needsLot) await act(address, { by, reason, change: { what: 'lot', lot: lot.trim() } });
    if (needsRecipe) await act(address, { by, reason, change: { what: 'recipe', recipe } });
  };
  const name = (event: Event): void => {
    event.preventDefault();
    if ((needsLot && lot.trim() === '') || (needsRecipe && recipe === '')) {
      refuse(say(needsLot && lot.trim() === '' ? 'start.missingLot' : 'start.missingRecipe'));
      return;
    }
    asPerson((by) => follow(correct(by), say('name.done')));
  };
  return (
    <form class="reason-form" noValidate onSubmit={name}>
      {needsLot && (
        <TextField
          label={say('start.lot')}
          name="lot"
          value={lot}
          maxLength={mostCharacters}
          autocomplete="off"
          set={setLot}
        />
      )}
      {needsRecipe && (
        <Field label={say('start.recipe')}>
          <select
            name="recipe"
            value={recipe}
            onChange={(event) => setRecipe(event.currentTarget.value)}
          >
            <option value="">{say('start.noneRecipe')}</option>
            {recipes.map(({ id, revision, title }) => (
              <option key={id} value={id}>
                {`${title} (${id} r${revision})`}
              </option>
            ))}
          </select>
        </Field>
      )}
      <Told sent={sent} />
      <div class="acts-row">
        <button class="main" disabled={sent.state === 'sending'}>
          {say('name.go')}
        </button>
      </div>
    </form>
  );
}
