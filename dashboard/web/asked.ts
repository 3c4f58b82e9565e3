import { useEffect, useRef, useState } from 'preact/hooks';
import { ask } from './ask.ts';

export interface Asked<T> {
  value: T | null;
  error: Error | null;
}

/** Least time between two askings of the same address [ms]. */
const leastEveryMs = 1_000;

/**
 * An answer of the server, asked anew whenever `version` changes, at most once a second. What was there
 * stays while the next is fetched, and when it fails: the error stands beside it.
 */
export function useAsked<T>(address: string, version: string | number): Asked<T> {
  const [asked, setAsked] = useState<Asked<T> & { address: string }>({
    value: null,
    error: null,
    address,
  });
  const lastMs = useRef(0);
  useEffect(() => {
    let gone = false;
    const waitMs = Math.max(0, lastMs.current + leastEveryMs - performance.now());
    const timer = setTimeout(() => {
      lastMs.current = performance.now();
      ask<T>(address).then(
        (value) => {
          if (!gone) setAsked({ value, error: null, address });
        },
        (error: Error) => {
          if (!gone) {
            setAsked((before) => ({
              value: before.address === address ? before.value : null,
              error,
              address,
            }));
          }
        },
      );
    }, waitMs);
    return () => {
      gone = true;
      clearTimeout(timer);
    };
  }, [address, version]);
  return asked.address === address ? asked : { value: null, error: null };
}
