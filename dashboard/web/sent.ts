import { useState } from 'preact/hooks';
import { act, type Recorded } from './ask.ts';
import { asPerson } from './person.ts';

/** What has become of an act: nothing yet, on its way, on the record, or not recorded and why. */
export type Sent =
  | { state: 'idle' }
  | { state: 'sending' }
  | { state: 'done'; text: string }
  | { state: 'refused'; text: string };

/** Keeps what becomes of something that is sent, to be told where it was sent from. */
export function useOutcome() {
  const [sent, setSent] = useState<Sent>({ state: 'idle' });
  const refuse = (text: string): void => setSent({ state: 'refused', text });
  return {
    sent,
    refuse,
    follow: <T>(answer: Promise<T>, done: string, then?: (answer: T) => void): void => {
      setSent({ state: 'sending' });
      answer.then(
        (value) => {
          setSent({ state: 'done', text: done });
          then?.(value);
        },
        (error: Error) => refuse(error.message),
      );
    },
    again: (): void => setSent({ state: 'idle' }),
  };
}

export interface Sending {
  sent: Sent;
  /** Asks for a name where none is known, sends, and keeps what came of it; `then` follows what is on the record. */
  send: (address: string, body: object, done: string, then?: (recorded: Recorded) => void) => void;
  again: () => void;
}

export function useSending(): Sending {
  const { sent, follow, again } = useOutcome();
  return {
    sent,
    send: (address, body, done, then) =>
      asPerson((by) => follow(act(address, { by, ...body }), done, then)),
    again,
  };
}
