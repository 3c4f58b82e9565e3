import { useState } from 'preact/hooks';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { useSending, type Sent } from '../sent.ts';

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
  const { sent, send } = useSending();
  const [answer, setAnswer] = useState<object | null>(null);
  const { value } = useAsked<T>(address, count);
  const change = (to: string, body: object): void =>
    send(to, body, say('people.done'), (recorded) => {
      setAnswer(recorded);
      setCount((n) => n + 1);
    });
  return { value, sent, answer, change };
}
