import { useState } from 'preact/hooks';
import type { LoadDetail } from '@setwell/shared-models/api/dashboard';
import { loadSlot, planEarlyMin, type FloorLoad } from '@setwell/shared-models/api/floor';
import { act } from '../ask.ts';
import { GoButton, owner } from '../floor/call-strip.tsx';
import { rowMs } from '../live.ts';
import { say } from '../language.ts';
import { asPerson } from '../person.ts';
import { callText, clockFrom, clockUp, duration } from '../phrase.ts';

const backDates = [0, 1, 2, 5] as const;

function settlesText(load: FloorLoad, nowMs: number): string {
  if (load.state !== 'open') {
    return say(load.verdict === 'in-window' ? 'load.settles.done' : 'load.settles.held');
  }
  const slot = loadSlot(load, nowMs);
  const { forecast } = load;
  switch (slot.kind) {
    case 'blind':
      return say('load.settles.blind', { points: load.silentPoints.join(', ') || '?' });
    case 'ask':
      return say('load.settles.ask');
    case 'no-recipe':
    case 'which-lot':
      return say('load.settles.recipe');
    case 'out-by':
    case 'left':
      return say('load.settles.proven', { clock: clockFrom(forecast?.overAtMs ?? nowMs, nowMs) });
    case 'no-end':
      return say('load.settles.provenNoEnd');
    case 'more': {
      const until = clockUp(forecast?.provenAtMs ?? nowMs, nowMs);
      const early = planEarlyMin(load);
      return early === null
        ? say('load.settles.wait', { clock: until })
        : say('load.settles.waitPlan', { clock: until, time: duration(early, true) });
    }
    case 'over-since':
      return say('load.settles.held');
    default:
      return say('load.settles.counting');
  }
}

/** Ends a load by hand: two presses in two places, and the time it truly came out. */
function EndLoad({ load }: { load: FloorLoad }) {
  const [asking, setAsking] = useState(false);
  const [told, setTold] = useState<string | null>(null);
  const [ago, setAgo] = useState<number>(0);
  if (told !== null) {
    return (
      <p role="status" class="refused">
        {told}
      </p>
    );
  }
  if (!asking) {
    return (
      <div class="acts-row">
        <button onClick={() => setAsking(true)}>{say('load.end')}</button>
      </div>
    );
  }
  return (
    <div class="todo">
      <p>{say('load.endAsk', { load: load.load })}</p>
      <fieldset>
        <legend class="spoken">{say('load.end')}</legend>
        <div class="choices">
          {backDates.map((min) => (
            <label key={min}>
              <input type="radio" name="ago" checked={ago === min} onChange={() => setAgo(min)} />
              <span>{min === 0 ? say('load.endNow') : say('load.endAgo', { min })}</span>
            </label>
          ))}
        </div>
      </fieldset>
      <div class="acts-row">
        <button onClick={() => setAsking(false)}>{say('load.endNo')}</button>
        <button
          class="main"
          onClick={() =>
            asPerson((by) => {
              act(`/loads/${encodeURIComponent(load.load)}/end`, { by, backDatedMin: ago }).then(
                () => setTold(say('load.ended')),
                (error: Error) => setTold(error.message),
              );
            })
          }
        >
          {say('load.endYes')}
        </button>
      </div>
    </div>
  );
}

/** What settles it: the one thing to do, who has it, and the acts. */
export function Settles({ detail }: { detail: LoadDetail }) {
  const { load, calls } = detail;
  const open = calls.filter((call) => call.cleared === null);
  return (
    <section class="todo" aria-labelledby="settles">
      <h2 id="settles">{say('load.settles')}</h2>
      <p>{settlesText(load, rowMs.value)}</p>
      {open.map((call) => (
        <div key={call.id}>
          <p>
            {call.kind === 'short-at-plan' ? '' : `${callText(call, '.do')} · `}
            <small>{owner(call)}</small>
          </p>
          {call.acknowledged === null && (
            <div class="acts-row">
              <GoButton call={call} />
            </div>
          )}
        </div>
      ))}
      {load.state === 'open' && <EndLoad load={load} />}
    </section>
  );
}
