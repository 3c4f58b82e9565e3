import { useState } from 'preact/hooks';
import type { LoadDetail } from '@setwell/shared-models/api/dashboard';
import { loadSlot, planEarlyMin, type FloorLoad } from '@setwell/shared-models/api/floor';
import { GoButton, owner } from '../floor/call-strip.tsx';
import { rowMs } from '../live.ts';
import { say } from '../language.ts';
import { callText, clockFrom, clockUp, duration } from '../phrase.ts';
import { TakeNote } from './notes.tsx';
import { NameLoad } from './name-load.tsx';
import { Decide, Decided, Hold, KeepClosed } from './decide.tsx';
import { EndLoad } from './end-load.tsx';

const minuteMs = 60_000;

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

type Opened = 'hold' | 'decide' | 'note' | null;

/** The acts of a load: keep it closed, hold, decide, note, print; what opens stands below them. */
function LoadActs({ load }: { load: FloorLoad }) {
  const [opened, setOpened] = useState<Opened>(null);
  const provenMs = load.forecast?.provenAtMs ?? null;
  const isEarly = planEarlyMin(load) !== null && provenMs !== null;
  const close = (): void => setOpened(null);
  return (
    <>
      <Decided load={load} />
      <div class="acts-row">
        {isEarly && <KeepClosed load={load} untilMs={Math.ceil(provenMs / minuteMs) * minuteMs} />}
        {load.state !== 'open' && (
          <button aria-expanded={opened === 'decide'} onClick={() => setOpened('decide')}>
            {say('decide.open')}
          </button>
        )}
        {load.decisions.hold === null && (
          <button aria-expanded={opened === 'hold'} onClick={() => setOpened('hold')}>
            {say('decide.holdOpen')}
          </button>
        )}
        {load.decisions.hold !== null && (
          <a class="button" href={`/hold-tag/${encodeURIComponent(load.lot)}`}>
            {say('holdTag.open')}
          </a>
        )}
        <button aria-expanded={opened === 'note'} onClick={() => setOpened('note')}>
          {say('load.note')}
        </button>
        <button onClick={() => print()}>{say('load.print')}</button>
      </div>
      {opened === 'hold' && <Hold load={load} close={close} />}
      {opened === 'note' && <TakeNote load={load} close={close} />}
      {opened === 'decide' && <Decide load={load} close={close} />}
      <EndLoad load={load} />
    </>
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
            {call.kind !== 'short-at-plan' &&
              `${callText(call, call.state === 'returned' ? '' : '.do')} · `}
            <small>{owner(call)}</small>
          </p>
          {call.acknowledged === null && (
            <div class="acts-row">
              <GoButton call={call} />
            </div>
          )}
        </div>
      ))}
      <NameLoad load={load} />
      <LoadActs load={load} />
    </section>
  );
}
