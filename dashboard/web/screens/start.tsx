import { useEffect, useState } from 'preact/hooks';
import type { Hello } from '@setwell/shared-models/api/collector';
import { act } from '../ask.ts';
import { live, nowMs, stations, wallNowMs } from '../live.ts';
import { Field, TextField } from '../field.tsx';
import { say } from '../language.ts';
import { SafetyNote } from '../load/safety-note.tsx';
import { may, me } from '../people/me.ts';
import { asPerson } from '../person.ts';
import { clockFrom, zoneText } from '../phrase.ts';
import { loadAddress } from '../route.ts';
import { CameraScan } from '../scan/camera.tsx';
import { listenForLot } from '../scan/scan-answer.tsx';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';
import { Choice } from './choice.tsx';
import { StationState } from './station-state.tsx';
import { waitingIn, WasEmpty, type WaitingClosing } from './waiting-closing.tsx';

const backDates = [0, 1, 2, 5] as const;
const minuteMs = 60_000;
const undoWithinMs = minuteMs;

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
  /** The call for the closing it went in with; `first`: the one that has waited longest; null: none. */
  closing: 'first' | string | null;
}

const blank: Draft = {
  station: null,
  opening: null,
  zones: [],
  lot: '',
  parts: '',
  recipe: '',
  agoMin: 0,
  closing: 'first',
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
            ...zones.map(({ id }) => ({ value: id, text: zoneText(id) })),
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
      <TextField
        label={say('start.lot')}
        name="lot"
        value={draft.lot}
        maxLength={120}
        required
        autocomplete="off"
        set={(text) => change({ lot: text })}
      />
      {recipe.all.length === 0 ? (
        <p class="soft">{say('start.noRecipes')}</p>
      ) : (
        <Field label={say('start.recipe')}>
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
        </Field>
      )}
      <Field label={say('start.parts')}>
        <textarea
          name="parts"
          value={draft.parts}
          maxLength={20_000}
          onInput={(event) => change({ parts: event.currentTarget.value })}
        />
      </Field>
    </>
  );
}

/** The closing that what is drafted went in with; null: it has a clock of its own. */
function closingOf({ closing }: Draft, station: string): WaitingClosing | null {
  const waiting = waitingIn(station);
  if (closing === 'first') return waiting[0] ?? null;
  return waiting.find(({ call }) => call.id === closing) ?? null;
}

/** When what is drafted went in [ms]. */
function wentInMs(draft: Draft, station: string): number {
  return closingOf(draft, station)?.sinceMs ?? nowMs.value - draft.agoMin * minuteMs;
}

/** When it went in: now, some minutes ago, or when the readings show that the station closed. */
function WhenFields({ draft, station, change }: FieldsProps) {
  const closing = closingOf(draft, station.id);
  const now = nowMs.value;
  const options = [
    ...waitingIn(station.id).map(({ call, sinceMs }) => ({
      value: call.id,
      text: say('start.sinceClosing', { clock: clockFrom(sinceMs, now) }),
    })),
    ...backDates.map((min) => ({
      value: String(min),
      text: min === 0 ? say('start.now') : say('start.ago', { min }),
    })),
  ];
  return (
    <>
      <Choice
        legend={say('start.when')}
        name="ago"
        options={options}
        value={[closing?.call.id ?? String(draft.agoMin)]}
        choose={(value) =>
          change(
            Number.isNaN(Number(value))
              ? { closing: value, agoMin: 0 }
              : { closing: null, agoMin: Number(value) },
          )
        }
      />
      <p class="soft num">
        {say('start.echo', { clock: clockFrom(wentInMs(draft, station.id), now) })}
      </p>
    </>
  );
}

interface Started {
  load: string | undefined;
  text: string;
  atWallMs: number;
}

/** Sends it; answers what to tell the person, and which load it is. */
async function started(draft: Draft, station: Station, by: string): Promise<Started> {
  const recipe = recipeOf(station, draft).chosen;
  const closing = closingOf(draft, station.id);
  const lot = draft.lot.trim();
  const { load } = await act('/loads', {
    by,
    station: station.id,
    opening: openingOf(station, draft).chosen,
    zones: draft.zones,
    lot,
    parts: partsOf(draft.parts),
    recipe: recipe?.id ?? null,
    backDatedMin: draft.agoMin,
    ...(closing === null ? {} : { closing: closing.call.id }),
  });
  const since = clockFrom(closing?.sinceMs ?? wentInMs(draft, station.id), nowMs.value);
  const text = say('start.done', { lot, station: station.id, clock: since });
  return { load, text, atWallMs: Date.now() };
}

/** Takes a start back within a minute of it; later it is a correction with a reason. */
function Undo({ started: { load, atWallMs } }: { started: Started }) {
  const { sent, send } = useSending();
  const leftS = Math.ceil((atWallMs + undoWithinMs - wallNowMs.value) / 1000);
  if (sent.state === 'done') return <Told sent={sent} />;
  if (load === undefined || (leftS <= 0 && sent.state === 'idle')) return null;
  return (
    <>
      <button
        type="button"
        disabled={sent.state === 'sending' || leftS <= 0}
        onClick={() => send(`/loads/${encodeURIComponent(load)}/undo`, {}, say('start.undone'))}
      >
        {say('start.undo', { s: Math.max(0, leftS) })}
      </button>
      <Told sent={sent} />
    </>
  );
}

/** What came of it: recorded, with the way back and on; or why it was not. */
function Outcome({ told }: { told: Started | string | null }) {
  return (
    <div role="status" class="outcome">
      {typeof told === 'string' && <p class="refused">{told}</p>}
      {told !== null && typeof told !== 'string' && (
        <>
          <p class="note told">{told.text}</p>
          <div class="acts-row">
            <Undo key={told.load} started={told} />
            {told.load !== undefined && (
              <a class="button" href={loadAddress(told.load)}>
                {say('calls.openLoad')}
              </a>
            )}
          </div>
        </>
      )}
    </div>
  );
}

/** The station a screen is opened for, by its address; the first of the plant without one. */
function stationOf(draft: Draft, named: string): Station | undefined {
  const wanted = draft.station ?? named;
  return stations.value.find(({ id }) => id === wanted) ?? stations.value[0];
}

function NoStations() {
  return (
    <section class="section">
      <h1>{say('start.title')}</h1>
      <p>{say('start.noStations')}</p>
    </section>
  );
}

/** Said before anything is typed: whoever is signed in here may start no load, and what helps. */
function MayNot() {
  const isHelped = may('administer');
  return (
    <section class="section">
      <h1>{say('start.title')}</h1>
      <p class="refused">{say('start.mayNot', { name: me.value?.who?.name ?? '' })}</p>
      <p>{say(isHelped ? 'start.mayNotAdministrator' : 'start.mayNotHow')}</p>
      <div class="acts-row">
        <a class="button" href="/settings">
          {say('people.settings')}
        </a>
      </div>
    </section>
  );
}

/** A load put in by hand: station, lot, recipe, and when it truly went in. A scan fills in the lot. */
export function StartScreen({ name }: { name: string }) {
  const [draft, setDraft] = useState<Draft>(blank);
  const [told, setTold] = useState<Started | string | null>(null);
  const [sending, setSending] = useState(false);
  const change = (next: Partial<Draft>): void => setDraft((before) => ({ ...before, ...next }));
  const station = stationOf(draft, name);
  useEffect(() => listenForLot((lot) => change({ lot })), []);
  if (station === undefined) return <NoStations />;
  if (me.value?.mode === 'people' && me.value.who !== null && !may('floor')) return <MayNot />;
  const closing = closingOf(draft, station.id);
  const missing = (): string | null => {
    if (draft.lot.trim() === '') return say('start.missingLot');
    return recipeOf(station, draft).chosen === undefined ? say('start.missingRecipe') : null;
  };
  const start = (event: Event): void => {
    event.preventDefault();
    const text = missing();
    if (text !== null) {
      setTold(text);
      return;
    }
    asPerson((by) => {
      setTold(null);
      setSending(true);
      started(draft, station, by)
        .then(
          (done) => {
            setTold(done);
            setDraft({ ...blank, station: station.id, recipe: draft.recipe });
          },
          (error: Error) => setTold(error.message),
        )
        .finally(() => setSending(false));
    });
  };
  return (
    <>
      <form class="start" onSubmit={start} noValidate>
        <h1>{say('start.title')}</h1>
        <p class="soft">
          {say('start.scan')} <a href="/scanner">{say('scanner.title')}</a> ·{' '}
          <a href={`/act-card/${encodeURIComponent(station.id)}`}>
            {say('card.title', { station: station.id })}
          </a>
        </p>
        <CameraScan />
        <WhereFields draft={draft} station={station} change={change} />
        <WhatFields draft={draft} station={station} change={change} />
        <WhenFields draft={draft} station={station} change={change} />
        <SafetyNote kind={station.kind} />
        <div class="start-foot">
          <Outcome told={told} />
          <div class="acts">
            <button class="main" disabled={sending}>
              {say(sending ? 'act.sending' : 'start.go')}
            </button>
          </div>
        </div>
      </form>
      <div class="station-state">
        {closing !== null && <WasEmpty key={closing.call.id} call={closing.call} />}
        <StationState key={station.id} station={station.id} />
      </div>
    </>
  );
}
