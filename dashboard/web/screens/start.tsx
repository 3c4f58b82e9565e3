import { useState } from 'preact/hooks';
import type { Hello } from '@setwell/shared-models/api/collector';
import { act } from '../ask.ts';
import { live, nowMs, stations } from '../live.ts';
import { say } from '../language.ts';
import { asPerson } from '../person.ts';
import { clock } from '../phrase.ts';
import { SafetyNote } from '../load/load.tsx';

const backDates = [0, 1, 2, 5] as const;
const minuteMs = 60_000;

type Station = Hello['stations'][number];

function openingsOf(station: Station | undefined): string[] {
  const named = station?.zones.map(({ opening }) => opening).filter((each) => each !== null);
  return [...new Set(named)];
}

function Choice<T extends string | number>({
  legend,
  name,
  options,
  value,
  choose,
  many = false,
}: {
  legend: string;
  name: string;
  options: { value: T; text: string }[];
  value: T[];
  choose: (value: T) => void;
  many?: boolean;
}) {
  return (
    <fieldset>
      <legend>{legend}</legend>
      <div class="choices">
        {options.map((option) => (
          <label key={option.value}>
            <input
              type={many ? 'checkbox' : 'radio'}
              name={name}
              checked={value.includes(option.value)}
              onChange={() => choose(option.value)}
            />
            <span class="id">{option.text}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}

/** A load put in by hand: station, lot, recipe, and when it truly went in. */
export function StartScreen() {
  const [stationId, setStationId] = useState<string | null>(null);
  const [opening, setOpening] = useState<string | null>(null);
  const [zones, setZones] = useState<string[]>([]);
  const [lot, setLot] = useState('');
  const [parts, setParts] = useState('');
  const [recipe, setRecipe] = useState('');
  const [ago, setAgo] = useState(0);
  const [told, setTold] = useState<{ ok: boolean; text: string } | null>(null);
  const [sending, setSending] = useState(false);

  const station = stations.value.find(({ id }) => id === stationId) ?? stations.value[0];
  if (station === undefined) {
    return (
      <section class="section">
        <h1>{say('start.title')}</h1>
        <p>{say('start.noStations')}</p>
      </section>
    );
  }
  const openings = openingsOf(station);
  const inOpening = openings.length === 0 ? null : (opening ?? openings[0] ?? null);
  const zonesHere = station.zones.filter((zone) => zone.opening === inOpening);
  const recipes = (live.value.site?.recipes ?? []).filter(({ kind }) => kind === station.kind);
  const chosen =
    recipes.find(({ id }) => id === recipe) ?? (recipes.length === 1 ? recipes[0] : undefined);

  const missing =
    lot.trim() === ''
      ? say('start.missingLot')
      : chosen === undefined
        ? say('start.missingRecipe')
        : null;
  const start = (event: Event): void => {
    event.preventDefault();
    if (missing !== null || chosen === undefined) {
      setTold({ ok: false, text: missing ?? '' });
      return;
    }
    asPerson((by) => {
      setSending(true);
      const atMs = nowMs.value - ago * minuteMs;
      act('/loads', {
        by,
        station: station.id,
        opening: inOpening,
        zones,
        lot: lot.trim(),
        parts: parts
          .split(/[\n,;]/)
          .map((part) => part.trim())
          .filter((part) => part !== ''),
        recipe: chosen.id,
        backDatedMin: ago,
      })
        .then(
          () => {
            setTold({
              ok: true,
              text: say('start.done', { lot: lot.trim(), station: station.id, clock: clock(atMs) }),
            });
            setLot('');
            setParts('');
            setAgo(0);
          },
          (error: Error) => setTold({ ok: false, text: error.message }),
        )
        .finally(() => setSending(false));
    });
  };
  return (
    <form class="start" onSubmit={start} noValidate>
      <h1>{say('start.title')}</h1>
      <Choice
        legend={say('start.station')}
        name="station"
        options={stations.value.map(({ id }) => ({ value: id, text: id }))}
        value={[station.id]}
        choose={(id) => {
          setStationId(id);
          setOpening(null);
          setZones([]);
          setRecipe('');
        }}
      />
      {openings.length > 1 && (
        <Choice
          legend={say('start.opening')}
          name="opening"
          options={openings.map((id) => ({ value: id, text: id }))}
          value={inOpening === null ? [] : [inOpening]}
          choose={(id) => {
            setOpening(id);
            setZones([]);
          }}
        />
      )}
      {zonesHere.length > 1 && (
        <Choice
          legend={say('start.zones')}
          name="zones"
          many
          options={[
            { value: '', text: say('start.allZones') },
            ...zonesHere.map(({ id }) => ({ value: id, text: id })),
          ]}
          value={zones.length === 0 ? [''] : zones}
          choose={(id) =>
            setZones(
              id === ''
                ? []
                : zones.includes(id)
                  ? zones.filter((zone) => zone !== id)
                  : [...zones, id],
            )
          }
        />
      )}
      <label class="field">
        <span>{say('start.lot')}</span>
        <input
          value={lot}
          maxLength={120}
          required
          autocomplete="off"
          onInput={(event) => setLot(event.currentTarget.value)}
        />
      </label>
      <label class="field">
        <span>{say('start.recipe')}</span>
        {recipes.length === 0 ? (
          <span class="soft">{say('start.noRecipes')}</span>
        ) : (
          <select
            value={chosen?.id ?? ''}
            required
            onChange={(event) => setRecipe(event.currentTarget.value)}
          >
            <option value="">{say('start.noneRecipe')}</option>
            {recipes.map(({ id, revision, title }) => (
              <option key={id} value={id}>
                {`${title} (${id} r${revision})`}
              </option>
            ))}
          </select>
        )}
      </label>
      <label class="field">
        <span>{say('start.parts')}</span>
        <textarea
          value={parts}
          maxLength={20_000}
          onInput={(event) => setParts(event.currentTarget.value)}
        />
      </label>
      <Choice
        legend={say('start.when')}
        name="ago"
        options={backDates.map((min) => ({
          value: min,
          text: min === 0 ? say('start.now') : say('start.ago', { min }),
        }))}
        value={[ago]}
        choose={setAgo}
      />
      <p class="soft num">{say('start.echo', { clock: clock(nowMs.value - ago * minuteMs) })}</p>
      <SafetyNote kind={station.kind} />
      <div role="status">
        {told !== null && <p class={told.ok ? 'note' : 'refused'}>{told.text}</p>}
      </div>
      <div class="acts">
        <button class="main" disabled={sending}>
          {say('start.go')}
        </button>
      </div>
    </form>
  );
}
