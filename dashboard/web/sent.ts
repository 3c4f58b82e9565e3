import { useState } from 'preact/hooks';
import { act } from './ask.ts';
import { asPerson } from './person.ts';

/** What has become of an act: nothing yet, on its way, on the record, or not recorded and why. */
export type Sent =
  | { state: 'idle' }
  | { state: 'sending' }
  | { state: 'done'; n: number; text: string }
  | { state: 'refused'; text: string };

export interface Sending {
  sent: Sent;
  /** Asks for a name where none is known, sends, and keeps what came of it. */
  send: (address: string, body: object, done: string) => void;
  again: () => void;
}

export function useSending(): Sending {
  const [sent, setSent] = useState<Sent>({ state: 'idle' });
  return {
    sent,
    send: (address, body, done) =>
      asPerson((by) => {
        setSent({ state: 'sending' });
        act(address, { by, ...body }).then(
          ({ n }) => setSent({ state: 'done', n, text: done }),
          (error: Error) => setSent({ state: 'refused', text: error.message }),
        );
      }),
    again: () => setSent({ state: 'idle' }),
  };
}
