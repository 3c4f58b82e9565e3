import { computed, signal } from '@preact/signals';
import type { Me, Right, WhoIs } from '@setwell/shared-models/api/people';

/** Whom the server takes this browser for; null until it has said. */
export const me = signal<Me | null>(null);
/** Who stands behind a number of the record. */
export const whoIs = signal<WhoIs>({});

export const may = (right: Right): boolean => me.value?.rights.includes(right) ?? false;
/** Nothing may be shown before somebody signs in, or this wall is paired. */
export const isShut = computed(() => me.value?.mode === 'people' && !may('look'));

async function answerOf<T>(address: string): Promise<T | null> {
  try {
    const response = await fetch(`/api/v1${address}`);
    return response.ok ? ((await response.json()) as T) : null;
  } catch {
    return null;
  }
}

/** Asks again who this is: after signing in or out, and when an act has used up a badge. */
export async function loadMe(): Promise<void> {
  const found = await answerOf<Me>('/me');
  if (found === null) return;
  me.value = found;
  if (found.mode === 'people' && may('look')) whoIs.value = (await answerOf<WhoIs>('/who')) ?? {};
}
