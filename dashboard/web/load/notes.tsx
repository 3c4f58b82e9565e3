import type { LoadDetail } from '@setwell/shared-models/api/dashboard';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import { rowMs } from '../live.ts';
import { say } from '../language.ts';
import { clockFrom, whoText } from '../phrase.ts';
import { ReasonForm } from '../reason-form.tsx';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';

/** Writes down what was seen; it decides nothing. */
export function TakeNote({ load, close }: { load: FloorLoad; close: () => void }) {
  const { sent, send } = useSending();
  if (sent.state === 'done') return <Told sent={sent} />;
  return (
    <>
      <ReasonForm
        label={say('load.noteWhat')}
        confirm={say('load.noteYes')}
        sending={sent.state === 'sending'}
        cancel={close}
        send={(note) =>
          send(`/loads/${encodeURIComponent(load.load)}/note`, { note }, say('load.noteDone'))
        }
      />
      <Told sent={sent} />
    </>
  );
}

/** What people wrote down of a load, newest first. */
export function Notes({ notes }: Pick<LoadDetail, 'notes'>) {
  if (notes.length === 0) return null;
  return (
    <section>
      <h2>{say('load.notes')}</h2>
      <ul>
        {[...notes].reverse().map(({ n, atMs, by, note }) => (
          <li key={n}>
            {say('load.noteLine', { clock: clockFrom(atMs, rowMs.value), by: whoText(by), note })}
          </li>
        ))}
      </ul>
    </section>
  );
}
