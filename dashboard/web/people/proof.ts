import { signal } from '@preact/signals';

/** What the server wants before it does an act: somebody by badge or PIN, or a password with its meaning. */
export type Wanted = 'who' | 'signature';

/** An act that waits for somebody to prove who he is. */
export const wanted = signal<{
  what: Wanted;
  /** What the password is given for: the server's word. */
  meaning: string;
  done: (proven: boolean) => void;
} | null>(null);

/** Asks the person before this screen. @returns whether he has proven it, or let it be */
export function prove(what: Wanted, meaning: string): Promise<boolean> {
  return new Promise((resolve) => {
    wanted.value?.done(false);
    wanted.value = {
      what,
      meaning,
      done: (proven) => {
        wanted.value = null;
        resolve(proven);
      },
    };
  });
}
