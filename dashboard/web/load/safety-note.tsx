import { say } from '../language.ts';

const noteOf = { press: 'note.hot', oven: 'note.oven' } as const;

/** The note stands where the work is, once, calm. */
export function SafetyNote({ kind }: { kind: string | undefined }) {
  const key = kind === 'press' || kind === 'oven' ? noteOf[kind] : 'note.fumes';
  return <p class="note">{say(key)}</p>;
}
