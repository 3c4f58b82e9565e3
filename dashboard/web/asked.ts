import { useEffect, useRef, useState } from 'preact/hooks';
import { ask } from './ask.ts';

export interface Asked<T> {
  value: T | null;
  error: Error | null;
}

/** How an address is asked for its answer. @throws Refused */
type Ask<T> = (address: string, signal: AbortSignal) => Promise<T>;

/** Least time between two askings of a screen [ms]. */
const leastEveryMs = 1_000;

interface Asking {
  /** There is something new to be asked for. */
  want(): void;
  stop(): void;
}

/**
 * Asks one address, one answer at a time: what is wanted anew meanwhile is asked after it, so that an
 * answer that takes longer than the next change comes in all the same.
 */
function asking<T>(
  address: string,
  last: { ms: number },
  how: Ask<T>,
  told: (answer: { value: T } | { error: Error }) => void,
): Asking {
  const stopped = new AbortController();
  const { signal } = stopped;
  let wanted = false;
  let busy = false;
  const turns = async (): Promise<void> => {
    busy = true;
    while (wanted && !signal.aborted) {
      const waitMs = Math.max(0, last.ms + leastEveryMs - performance.now());
      await new Promise((resolve) => setTimeout(resolve, waitMs));
      if (signal.aborted) return;
      wanted = false;
      last.ms = performance.now();
      const answer = await how(address, signal).then(
        (value) => ({ value }),
        (error: Error) => ({ error }),
      );
      if (!signal.aborted) told(answer);
    }
    busy = false;
  };
  return {
    want() {
      wanted = true;
      if (!busy) void turns();
    },
    stop: () => stopped.abort(),
  };
}

/**
 * An answer of the server, asked anew whenever `version` changes, at most once a second. What was there
 * stays while the next is fetched, and when it fails: the error stands beside it. A screen that is left
 * lets go of what it has asked for.
 *
 * @param how one and the same from draw to draw
 */
export function useAsked<T>(
  address: string,
  version: string | number,
  how: Ask<T> = ask,
): Asked<T> {
  const [asked, setAsked] = useState<Asked<T> & { address: string }>({
    value: null,
    error: null,
    address,
  });
  const last = useRef({ ms: -leastEveryMs });
  const now = useRef<Asking | null>(null);
  useEffect(() => {
    const own = asking<T>(address, last.current, how, (answer) => {
      setAsked((before) =>
        'value' in answer
          ? { value: answer.value, error: null, address }
          : {
              value: before.address === address ? before.value : null,
              error: answer.error,
              address,
            },
      );
    });
    now.current = own;
    return () => own.stop();
  }, [address]);
  useEffect(() => now.current?.want(), [address, version]);
  return asked.address === address ? asked : { value: null, error: null };
}
