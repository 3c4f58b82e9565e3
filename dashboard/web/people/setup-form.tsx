import { send } from '../ask.ts';
import { TextField } from '../field.tsx';
import { say } from '../language.ts';
import { useOutcome } from '../sent.ts';
import { Told } from '../told.tsx';
import { loadMe } from './me.ts';

/** An administrator by the code of the box: the first one, or one because nobody can sign in any more. */
export function SetupForm() {
  const { sent, follow } = useOutcome();
  const isSending = sent.state === 'sending';
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        const values = Object.fromEntries(new FormData(event.currentTarget));
        follow(send('/setup', values).then(loadMe), '');
      }}
    >
      <TextField
        name="code"
        label={say('people.code')}
        inputMode="numeric"
        autocomplete="off"
        required
      />
      <TextField name="name" label={say('people.name')} autocomplete="username" required />
      <TextField
        name="password"
        label={say('people.newPassword')}
        type="password"
        autocomplete="new-password"
        minLength={12}
        required
      />
      <Told sent={sent} />
      <button class="main" disabled={isSending}>
        {say(isSending ? 'act.sending' : 'people.begin')}
      </button>
    </form>
  );
}
