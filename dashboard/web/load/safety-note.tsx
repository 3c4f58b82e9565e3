import { say } from '../language.ts';

/** What a kind of station can do to whoever stands at it; each note names what it is based on. */
const notesOf: Record<string, ('note.hot' | 'note.exposure' | 'note.flammable')[]> = {
  press: ['note.hot', 'note.exposure'],
  oven: ['note.flammable', 'note.exposure'],
};

/** The note stands where the work is, once, calm. */
export function SafetyNote({ kind }: { kind: string | undefined }) {
  const notes = notesOf[kind ?? ''] ?? ['note.exposure'];
  return (
    <div class="note">
      {notes.map((note) => (
        <p key={note}>{say(note)}</p>
      ))}
      <p>{say('note.follow')}</p>
    </div>
  );
}
