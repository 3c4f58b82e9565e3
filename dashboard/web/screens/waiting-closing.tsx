import { useState } from 'preact/hooks';
import type { FloorCall } from '@setwell/shared-models/api/floor';
import { live } from '../live.ts';
import { say } from '../language.ts';
import { ReasonForm } from '../reason-form.tsx';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';

export interface WaitingClosing {
  call: FloorCall;
  sinceMs: number;
}

/** Closings that the readings show in a station and that nobody has named, oldest first. */
export function waitingIn(station: string): WaitingClosing[] {
  return Object.values(live.value.calls)
    .flatMap((call): WaitingClosing[] => {
      const sinceMs = call.values['startLatestMs'];
      const waits = call.kind === 'closing-unnamed' && call.cleared === null;
      if (!waits || call.station !== station || typeof sinceMs !== 'number') return [];
      return [{ call, sinceMs }];
    })
    .sort((a, b) => a.sinceMs - b.sinceMs);
}

/** Says of a closing that nothing was in it. */
export function WasEmpty({ call }: { call: FloorCall }) {
  const [asked, setAsked] = useState(false);
  const { sent, send } = useSending();
  if (!asked) {
    return (
      <button type="button" onClick={() => setAsked(true)}>
        {say('calls.wasEmpty')}
      </button>
    );
  }
  return (
    <>
      <ReasonForm
        label={say('calls.wasEmptyWhy')}
        confirm={say('calls.wasEmptyYes')}
        sending={sent.state === 'sending'}
        cancel={() => setAsked(false)}
        send={(reason) =>
          send(`/calls/${encodeURIComponent(call.id)}/void`, { reason }, say('calls.wasEmptyDone'))
        }
      />
      <Told sent={sent} />
    </>
  );
}
