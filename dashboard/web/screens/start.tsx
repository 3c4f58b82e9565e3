import { useState } from 'preact/hooks';
import type { Hello } from '@setwell/shared-models/api/collector';
import { act } from '../ask.ts';
import { live, nowMs, stations } from '../live.ts';
import { say } from '../language.ts';
import { SafetyNote } from '../load/safety-note.tsx';
import { asPerson } from '../person.ts';
import { clock } from '../phrase.ts';
import { Choice } from './choice.tsx';

const backDates = [0, 1, 2, 5] as const;
const minuteMs = 60_000;

type Station = Hello['stations'][number];
type Recipe = Hello['recipes'][number];

/** What a person has chosen so far; what is left out follows from the station. */
interface Draft {
  station: string | null;
  opening: string | null;
  zones: string[];
  lot: string;
  parts: string;
  recipe: string;
  agoMin: number;
}

const blank: Draft = {
  station: null,
  opening: null,
  zones: [],
  lot: '',
  parts: '',
  recipe: '',
  agoMin: 0,
};

interface FieldsProps {
  draft: Draft;
  station: Station;
  change: (next: Partial<Draft>) => void;
}

function openingOf(station: Station, draft: Draft): { all: string[]; chosen: string | null } {
  const named = station.zones.map(({ opening }) => opening).filter((each) => each !== null);
  const all = [...new Set(named)];
  return { all, chosen: draft.opening ?? all[0] ?? null };
}

function recipeOf(station: Station, draft: Draft): { all: Recipe[]; chosen: Recipe | undefined } {
  const all = (live.value.site?.recipes ?? []).filter(({ kind }) => kind === station.kind);
  const chosen =
    all.find(({ id }) => id === draft.recipe) ?? (all.length === 1 ? all[0] : undefined);
  return { all, chosen };
}

function partsOf(text: string): string[] {
  return text
    .split(/[\n,;]/)
    .map((part) => part.trim())
    .filter((part) => part !== '');
}

/** Where it goes in: a station, and in it an opening and zones where there is a choice. */
function WhereFields({ draft, station, change }: FieldsProps) {
  const opening = openingOf(station, draft);
  const zones = station.zones.filter((zone) => zone.opening === opening.chosen);
  const toggled = (id: string): string[] => {
    if (id === '') return [];
    const { zones: chosen } = draft;
    return chosen.includes(id) ? chosen.filter((zone) => zone !== id) : [...chosen, id];
  };
  return (
    <>
      <Choice
        legend={say('start.station')}
        name="station"
        options={stations.value.map(({ id }) => ({ value: id, text: id }))}
        value={[station.id]}
        choose={(id) => change({ station: id, opening: null, zones: [], recipe: '' })}
      />
      {opening.all.length > 1 && (
        <Choice
          legend={say('start.opening')}
          name="opening"
          options={opening.all.map((id) => ({ value: id, text: id }))}
          value={opening.chosen === null ? [] : [opening.chosen]}
          choose={(id) => change({ opening: id, zones: [] })}
        />
      )}
      {zones.length > 1 && (
        <Choice
          legend={say('start.zones')}
          name="zones"
          many
          options={[
            { value: '', text: say('start.allZones') },
            ...zones.map(({ id }) => ({ value: id, text: id })),
          ]}
          value={draft.zones.length === 0 ? [''] : draft.zones}
          choose={(id) => change({ zones: toggled(id) })}
        />
      )}
    </>
  );
}

/** What goes in: a lot, the recipe it is judged by, its parts. */
function WhatFields({ draft, station, change }: FieldsProps) {
  const recipe = recipeOf(station, draft);
  return (
    <>
      <label class="field">
        <span>{say('start.lot')}</span>
        <input
          name="lot"
          value={draft.lot}
          maxLength={120}
          required
          autocomplete="off"
          onInput={(event) => change({ lot: event.currentTarget.value })}
        />
      </label>
      {recipe.all.length === 0 ? (
        <p class="soft">{say('start.noRecipes')}</p>
      ) : (
        <label class="field">
          <span>{say('start.recipe')}</span>
          <select
            name="recipe"
            value={recipe.chosen?.id ?? ''}
            required
            onChange={(event) => change({ recipe: event.currentTarget.value })}
          >
            <option value="">{say('start.noneRecipe')}</option>
            {recipe.all.map(({ id, revision, title }) => (
              <option key={id} value={id}>
                {`${title} (${id} r${revision})`}
              </option>
            ))}
          </select>
        </label>
      )}
      <label class="field">
        <span>{say('start.parts')}</span>
        <textarea
          name="parts"
          value={draft.parts}
          maxLength={20_000}
          onInput={(event) => change({ parts: event.currentTarget.value })}
        />
      </label>
    </>
  );
}

/** Asks for what is missing, else sends it; answers what to tell the person. */
async function started(draft: Draft, station: Station, by: string): Promise<string> {
  const recipe = recipeOf(station, draft).chosen;
  const lot = draft.lot.trim();
  await act('/loads', {
    by,
    station: station.id,
    opening: openingOf(station, draft).chosen,
    zones: draft.zones,
    lot,
    parts: partsOf(draft.parts),
    recipe: recipe?.id ?? null,
    backDatedMin: draft.agoMin,
  });
  const since = clock(nowMs.value - draft.agoMin * minuteMs);
  return say('start.done', { lot, station: station.id, clock: since });
}

/** A load put in by hand: station, lot, recipe, and when it truly went in. */
export function StartScreen() {
  const [draft, setDraft] = useState<Draft>(blank);
  const [told, setTold] = useState<{ ok: boolean; text: string } | null>(null);
  const [sending, setSending] = useState(false);
  const change = (next: Partial<Draft>): void => setDraft((before) => ({ ...before, ...next }));
  const station = stations.value.find(({ id }) => id === draft.station) ?? stations.value[0];
  if (station === undefined) {
    return (
      <section class="section">
        <h1>{say('start.title')}</h1>
        <p>{say('start.noStations')}</p>
      </section>
    );
  }
  const missing = (): string | null => {
    if (draft.lot.trim() === '') return say('start.missingLot');
    return recipeOf(station, draft).chosen === undefined ? say('start.missingRecipe') : null;
  };
  const start = (event: Event): void => {
    event.preventDefault();
    const text = missing();
    if (text !== null) {
      setTold({ ok: false, text });
      return;
    }
    asPerson((by) => {
      setSending(true);
      started(draft, station, by)
        .then(
          (done) => {
            setTold({ ok: true, text: done });
            setDraft({ ...blank, station: station.id, recipe: draft.recipe });
          },
          (error: Error) => setTold({ ok: false, text: error.message }),
        )
        .finally(() => setSending(false));
    });
  };
  return (
    <form class="start" onSubmit={start} noValidate>
      <h1>{say('start.title')}</h1>
      <WhereFields draft={draft} station={station} change={change} />
      <WhatFields draft={draft} station={station} change={change} />
      <Choice
        legend={say('start.when')}
        name="ago"
        options={backDates.map((min) => ({
          value: min as number,
          text: min === 0 ? say('start.now') : say('start.ago', { min }),
        }))}
        value={[draft.agoMin]}
        choose={(agoMin) => change({ agoMin })}
      />
      <p class="soft num">
        {say('start.echo', { clock: clock(nowMs.value - draft.agoMin * minuteMs) })}
      </p>
      <SafetyNote kind={station.kind} />
      <div role="status">
        {told !== null && <p class={told.ok ? 'note told' : 'refused'}>{told.text}</p>}
      </div>
      <div class="acts">
        <button class="main" disabled={sending}>
          {say('start.go')}
        </button>
      </div>
    </form>
  );
}
