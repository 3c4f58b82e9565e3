import { useState } from 'preact/hooks';
import { act } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { asPerson } from '../person.ts';
import type { Sent } from '../sent.ts';

export interface Listed<T> {
  value: T | null;
  sent: Sent;
  /** What the last act answered, beside its entry: a token is shown this once. */
  answer: object | null;
  /** Does something to the list, and asks for it anew. */
  change: (address: string, body: object) => void;
}

/** A list of the server, and acts that change it. */
export function useListed<T>(address: string): Listed<T> {
  const [count, setCount] = useState(0);
  const [sent, setSent] = useState<Sent>({ state: 'idle' });
  const [answer, setAnswer] = useState<object | null>(null);
  const { value } = useAsked<T>(address, count);
  const change = (to: string, body: object): void =>
    asPerson((by) => {
      setSent({ state: 'sending' });
      act(to, { by, ...body }).then(
        (recorded) => {
          setSent({ state: 'done', n: recorded.n, text: say('people.done') });
          setAnswer(recorded);
          setCount((n) => n + 1);
        },
        (error: Error) => setSent({ state: 'refused', text: error.message }),
      );
    });
  return { value, sent, answer, change };
}
