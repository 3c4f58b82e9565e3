import './load.css';
import { useState } from 'preact/hooks';
import { useComputed } from '@preact/signals';
import type { LoadDetail } from '@setwell/shared-models/api/dashboard';
import { verdictToken, type FloorLoad } from '@setwell/shared-models/api/floor';
import type { JudgedPlace } from '@setwell/shared-models/score/shape';
import { actsDone } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { CoatStackTable } from '../cure/coat-stack.tsx';
import { CureBar } from '../cure/cure-bar.tsx';
import { live, staleSinceMs, stations, wallNowMs } from '../live.ts';
import { say } from '../language.ts';
import { clockS, placeText, whoText } from '../phrase.ts';
import { Deviations } from './deviations.tsx';
import { PicturesOfLoad } from './pictures.tsx';
import { Repress } from './repress.tsx';
import { Requirements } from './requirements.tsx';
import { SafetyNote } from './safety-note.tsx';
import { Seams } from './seams.tsx';
import { Sentence } from './sentence.tsx';
import { Settles } from './settles.tsx';
import { isWall } from '../wall.ts';
import { WallLoad } from './wall-load.tsx';
import { Notes } from './notes.tsx';
import { Reasons } from './reasons.tsx';
import { WhyWide } from './why-wide.tsx';

const placesShown = 5;
/** A load that is not live any more changes only by late readings: it is looked at again this often [ms]. */
const quietEveryMs = 15_000;

function Places({
  detail,
  chosen,
  choose,
}: {
  detail: LoadDetail;
  chosen: JudgedPlace | null;
  choose: (place: JudgedPlace) => void;
}) {
  const [all, setAll] = useState(false);
  const { load, places } = detail;
  const { window } = load;
  if (window === null || places.length === 0) return null;
  const shown = all ? places : places.slice(0, placesShown);
  const more = places.length - shown.length;
  return (
    <section>
      <h2>{say('load.places')}</h2>
      <table class="places">
        <tbody>
          {shown.map((place) => (
            <tr key={`${place.zone}/${place.glueLine}`}>
              <td>
                <button
                  aria-pressed={chosen?.zone === place.zone && chosen.glueLine === place.glueLine}
                  onClick={() => choose(place)}
                >
                  {placeText(place, true)}
                </button>
              </td>
              <td>
                <CureBar
                  place={place}
                  window={window}
                  unit={load.unit}
                  token={verdictToken({ ...place, state: load.state })}
                  dashed={load.blindSinceMs !== null}
                />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {more > 0 && (
        <p>
          <small>{say('load.placesMore', { n: more })} </small>
          <button class="quiet" onClick={() => setAll(true)}>
            {say('load.placesAll', { n: places.length })}
          </button>
        </p>
      )}
    </section>
  );
}

/** Who put it in; and when that was entered, where it counts from an earlier time. */
function startedText({ startedBy, load, entries }: LoadDetail): string {
  if (startedBy === null) return '';
  const by = whoText(startedBy);
  const enteredMs = entries.find(({ kind }) => kind === 'load-opened')?.atMs ?? load.startMs;
  return enteredMs - load.startMs < 60_000
    ? say('load.startedBy', { by })
    : say('load.startedLater', { by, clock: clockS(enteredMs) });
}

function Record({ detail }: { detail: LoadDetail }) {
  return (
    <section>
      <h2>{say('load.record')}</h2>
      {detail.marksAssumed && <p>{say('load.assumed')}</p>}
      <p class="soft">
        {[
          startedText(detail),
          detail.endedBy === null ? '' : say('load.endedBy', { by: whoText(detail.endedBy) }),
          detail.parts.length === 0 ? '' : say('load.parts', { n: detail.parts.length }),
        ]
          .filter((text) => text !== '')
          .join(' · ')}
      </p>
      {detail.revisions.length > 0 && (
        <ul>
          {detail.revisions.map(({ revision, atMs, verdict, n, sealedBy }) => (
            <li key={n}>
              {say('load.record.revision', { revision })} · {clockS(atMs)} ·{' '}
              {say(`verdict.${verdict}`)} · {say(`load.record.${sealedBy}`)} ·{' '}
              {say('load.record.entry', { n })}
            </li>
          ))}
        </ul>
      )}
      {detail.entries.length > 0 && (
        <details>
          <summary>{say('load.entries')}</summary>
          <table>
            <tbody>
              {detail.entries.map(({ n, atMs, kind, by }) => (
                <tr key={n}>
                  <td class="num">{n}</td>
                  <td class="num">{clockS(atMs)}</td>
                  <td class="id">{kind}</td>
                  <td>{whoText(by)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </details>
      )}
    </section>
  );
}

/** Something else whenever the load has to be asked for again. */
function useVersion(name: string): string {
  return useComputed(() => {
    const now = live.value.loads[name];
    const what = now === undefined ? quietVersion() : liveVersion(now);
    return `${actsDone.value} ${what}`;
  }).value;
}

function quietVersion(): string {
  return `quiet ${Math.floor(wallNowMs.value / quietEveryMs)} ${staleSinceMs.value}`;
}

function liveVersion({ load: name, asOfMs, state, lot, recipe, decisions }: FloorLoad): string {
  const { hold, last, waiting, promise } = decisions;
  const calls = Object.values(live.value.calls).filter(({ load }) => load === name);
  return [
    ...[asOfMs, state, lot, recipe?.id],
    ...[hold?.n, last?.n, waiting?.n, promise?.atMs],
    ...calls.map(({ lastN }) => lastN),
  ].join();
}

function Coats({ detail: { coats, load } }: { detail: LoadDetail }) {
  if (coats.length < 2) return null;
  return (
    <section>
      <h2>{say('coat.stack')}</h2>
      <p class="soft">{say('coat.how')}</p>
      <CoatStackTable coats={coats} running={load.state === 'open' ? [load.load] : []} />
    </section>
  );
}

/** What every glue line and coat of a load has been through, and what settles it. */
export function LoadScreen({ name }: { name: string }) {
  const [chosen, setChosen] = useState<JudgedPlace | null>(null);
  const version = useVersion(name);
  const { value: detail, error } = useAsked<LoadDetail>(
    `/loads/${encodeURIComponent(name)}`,
    version,
  );
  if (detail === null) {
    return (
      <section class="section">
        <h1 class="id">{name}</h1>
        <p>{error === null ? say('load.fetching') : error.message}</p>
      </section>
    );
  }
  const { load, places } = detail;
  const place = chosen ?? places[0] ?? null;
  const isRefused = places.length === 0 && detail.reasons.some(({ code }) => code === 'refused');
  const kind = stations.value.find(({ id }) => id === load.station)?.kind;
  const token = verdictToken(load);
  const dashed = load.blindSinceMs !== null || staleSinceMs.value !== null;
  if (isWall.value) return <WallLoad detail={detail} />;
  return (
    <article>
      <Sentence detail={detail} />
      {load.worst !== null && load.window !== null && (
        <div class="big-bar">
          <CureBar
            place={load.worst}
            window={load.window}
            unit={load.unit}
            token={token}
            dashed={dashed}
            labelled
          />
        </div>
      )}
      <div class="cols load">
        <div class="pictures-col">
          {isRefused && <p>{say('picture.refused')}</p>}
          {load.recipe === null && <p>{say('picture.unjudged')}</p>}
          {!isRefused && load.recipe !== null && (
            <PicturesOfLoad load={load} place={place} quality={detail.quality} />
          )}
        </div>
        <div>
          <Settles detail={detail} />
          <SafetyNote kind={kind} />
          <Places detail={detail} chosen={place} choose={setChosen} />
          <Notes notes={detail.notes} />
          <Coats detail={detail} />
          <Reasons load={load} reasons={detail.reasons} />
          <WhyWide budget={detail.budget} />
          <Repress detail={detail} />
          <Requirements detail={detail} />
          <Deviations detail={detail} />
          <Seams detail={detail} />
          <Record detail={detail} />
        </div>
      </div>
    </article>
  );
}
