import { useState } from 'preact/hooks';
import type { FloorCall } from '@setwell/shared-models/api/floor';
import { act, Refused } from '../ask.ts';
import { calls } from '../live.ts';
import { say } from '../language.ts';
import { asPerson } from '../person.ts';
import { callText, clock, whoText } from '../phrase.ts';
import { loadAddress } from '../route.ts';
import { isHeard, quietCalls, quieten, soundOn } from '../sound.ts';

const shownCalls = 3;

/** "I go": the call has an owner from now on. Says so itself where nothing was recorded. */
export function GoButton({ call }: { call: FloorCall }) {
  const [state, setState] = useState<'idle' | 'sending' | string>('idle');
  const sending = state === 'sending';
  return (
    <>
      <button
        class="go main"
        disabled={sending}
        aria-label={`${say('calls.iGo')}: ${call.station ?? ''}`}
        onClick={() =>
          asPerson((by) => {
            setState('sending');
            act(`/calls/${encodeURIComponent(call.id)}/acknowledge`, { by }).then(
              () => setState('idle'),
              (error: unknown) =>
                setState(error instanceof Refused ? error.message : String(error)),
            );
          })
        }
      >
        {say('calls.iGo')}
      </button>
      {state !== 'idle' && !sending && (
        <p class="refused" role="alert">
          {state}
        </p>
      )}
    </>
  );
}

/** No more sound from this screen about this one call; for all of them there is no such button. */
function QuietButton({ call }: { call: FloorCall }) {
  if (!soundOn.value || !isHeard(call, quietCalls.value)) return null;
  return (
    <button
      class="quiet"
      aria-label={say('calls.quietName', { station: call.station ?? '' })}
      onClick={() => quieten(call.id)}
    >
      {say('calls.quiet')}
    </button>
  );
}

/** Who has it; nobody is asked to do what its cause does not ask for any more, but to look. */
export function owner(call: FloorCall): string {
  const { acknowledged, state } = call;
  if (acknowledged === null) return say(state === 'returned' ? 'calls.returned' : 'calls.nobody');
  return say('calls.owner', { by: whoText(acknowledged.by), clock: clock(acknowledged.atMs) });
}

/** Where a call is dealt with. */
function callAddress({ kind, load, station }: FloorCall): string {
  if (kind === 'closing-unnamed') return `/start/${encodeURIComponent(station ?? '')}`;
  return load === null ? '/calls' : loadAddress(load);
}

const plusText = (n: number): string => (n === 1 ? say('calls.plusOne') : say('calls.plus', { n }));

/** What needs somebody, most urgent first; three, and how many more there are. */
export function CallStrip() {
  const open = calls.value;
  if (open.length === 0) return null;
  const more = open.length - shownCalls;
  return (
    <section class="calls" aria-label={say('floor.calls')}>
      {open.slice(0, shownCalls).map((call) => (
        <div key={call.id} class="call">
          <b class="id">{call.station}</b>
          <span class="what">{callText(call)}</span>
          <span class="owner">
            {owner(call)} <QuietButton call={call} />
          </span>
          {call.acknowledged === null ? (
            <GoButton call={call} />
          ) : (
            <a class="button" href={callAddress(call)}>
              {say(call.kind === 'closing-unnamed' ? 'calls.name' : 'calls.openLoad')}
            </a>
          )}
        </div>
      ))}
      {more > 0 && (
        <a class="plus wide" href="/calls">
          {plusText(more)}
        </a>
      )}
      {open.length > 1 && (
        <a class="plus narrow" href="/calls">
          {plusText(open.length - 1)}
        </a>
      )}
    </section>
  );
}

/** The wall's one line: the most urgent call, and which of how many. */
export function WallCall() {
  const open = calls.value;
  const first = open[0];
  if (first === undefined) return null;
  return (
    <section class="callw" aria-label={say('floor.calls')}>
      <b class="id">{first.station}</b>
      <span class="what">{callText(first, '.short')}</span>
      <span class="owner">
        {owner(first)}
        {open.length > 1 ? ` · 1/${open.length}` : ''}
      </span>
    </section>
  );
}
