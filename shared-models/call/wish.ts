import type { CallKind, CallRaised } from '../record/bodies.ts';
import type { About } from '../record/entry.ts';

/**
 * What is known of one possible call now.
 *
 * `present: null` says that it cannot be told now (nothing is in the press, say): whatever stands, stands.
 */
export interface Wish {
  kind: CallKind;
  /** What it is about, within its kind: a load, a point, an opening. One call at a time for each. */
  subject: string;
  present: boolean | null;
  /** Absent because it came right, not because it is over: nobody needs to look any more. */
  healed?: boolean;
  /** How long the load's plan lasts [ms], for the delay; null where there is none. */
  plannedMs: number | null;
  about: About;
  raised: Omit<CallRaised, 'kind' | 'who'>;
}

export function wishKey({ kind, subject }: Pick<Wish, 'kind' | 'subject'>): string {
  return `${kind}.${subject}`;
}
