import { signal } from '@preact/signals';
import { site } from './live.ts';
import type { Job } from '@setwell/shared-models/api/people';
import { jobs } from '@setwell/shared-models/api/people';
import { keep, kept } from './kept.ts';
import { me } from './people/me.ts';

const isJob = (text: string | null): text is Job => jobs.some((job) => job === text);
const keptJob = kept('job');

/** On the demo one of the five jobs is looked as, without a password. */
export const job = signal<Job>(isJob(keptJob) ? keptJob : 'shift-lead');
/** The name typed once on this browser, while nobody may administer the plant. */
export const typedName = signal(kept('name') ?? '');

export function lookAs(next: Job): void {
  keep('job', next);
  job.value = next;
}

export function callMe(name: string): void {
  keep('name', name);
  typedName.value = name;
}

/** Who acts, as the record will say; null where nobody has given a name yet. */
function actor(): string | null {
  if (site.value?.demo === true) return job.value;
  // Past the first administrator the server asks for whom it needs, and takes no name from here.
  if (me.value?.mode === 'people') return me.value.who?.id ?? 'not yet';
  return typedName.value === '' ? null : typedName.value;
}

/** An act that waits for a name. */
export const waitingAct = signal<((by: string) => void) | null>(null);

/** Runs an act with the person's name, asking for it first where none is known. */
export function asPerson(act: (by: string) => void): void {
  const by = actor();
  if (by === null) waitingAct.value = act;
  else act(by);
}
