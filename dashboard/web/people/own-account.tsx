import { useState } from 'preact/hooks';
import { send } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { TextField } from '../field.tsx';
import { say } from '../language.ts';
import { clockFrom } from '../phrase.ts';
import { useOutcome } from '../sent.ts';
import { Told } from '../told.tsx';

interface SignIns {
  signIns: { kind: 'full' | 'hand'; beganMs: number }[];
}

/** Nobody is signed in here any more, and nothing that was shown stays on the page. */
export async function signOut(): Promise<void> {
  await send('/sign-out', {});
  location.assign('/settings');
}

/** One's own password, and where one is signed in. */
export function OwnAccount() {
  const [count, setCount] = useState(0);
  const { sent, follow } = useOutcome();
  const { value } = useAsked<SignIns>('/me/sign-ins', count);
  const change = (address: string, body: object, done: string, then?: () => void): void =>
    follow(send(address, body), done, () => {
      setCount((n) => n + 1);
      then?.();
    });
  const signIns = value?.signIns ?? [];
  return (
    <>
      <details>
        <summary>{say('people.ownPassword')}</summary>
        <form
          onSubmit={(event) => {
            event.preventDefault();
            const form = event.currentTarget;
            const values = Object.fromEntries(new FormData(form));
            change('/me/password', values, say('people.passwordChanged'), () => form.reset());
          }}
        >
          <TextField
            name="old"
            label={say('people.oldPassword')}
            type="password"
            autocomplete="current-password"
            required
          />
          <TextField
            name="password"
            label={say('people.newPassword')}
            type="password"
            autocomplete="new-password"
            minLength={12}
            required
          />
          <p class="soft">{say('people.passwordHow')}</p>
          <button class="main">{say('people.changePassword')}</button>
        </form>
      </details>
      <p>
        {signIns.length === 1
          ? say('people.signedInHere')
          : say('people.signedInAt', { n: signIns.length })}{' '}
        {signIns.map(({ beganMs }) => clockFrom(beganMs, Date.now())).join(', ')}
      </p>
      {signIns.length > 1 && (
        <button onClick={() => change('/me/sign-ins/end', {}, say('people.othersOut'))}>
          {say('people.endOthers')}
        </button>
      )}
      <Told sent={sent} />
    </>
  );
}
