import { send } from '../ask.ts';
import { me } from './me.ts';

/** The server is told at most so often that somebody is here [ms]. */
const tellEveryMs = 60_000;
let toldMs = -Infinity;

/** A press, a key, a wheel: whoever is signed in is here. What screens ask by themselves does not count. */
export function watchPresence(): void {
  const here = (event: Event): void => {
    const ms = performance.now();
    if (!event.isTrusted || me.value?.who?.kind !== 'full' || ms - toldMs < tellEveryMs) return;
    toldMs = ms;
    // Where it is not heard, the next press tells it.
    send('/me/here', {}).catch(() => (toldMs = -Infinity));
  };
  for (const kind of ['pointerdown', 'keydown', 'wheel']) {
    addEventListener(kind, here, { passive: true, capture: true });
  }
}
