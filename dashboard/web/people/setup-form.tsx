import { useState } from 'preact/hooks';
import { send } from '../ask.ts';
import { TextField } from '../field.tsx';
import { say } from '../language.ts';
import { loadMe } from './me.ts';

/** An administrator by the code of the box: the first one, or one because nobody can sign in any more. */
export function SetupForm() {
  const [refused, setRefused] = useState<string | null>(null);
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        const values = Object.fromEntries(new FormData(event.currentTarget));
        send('/setup', values).then(loadMe, (error: Error) => setRefused(error.message));
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
      <div role="alert">{refused !== null && <p class="refused">{refused}</p>}</div>
      <button class="main">{say('people.begin')}</button>
    </form>
  );
}
