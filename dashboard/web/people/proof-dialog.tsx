import { useEffect, useRef, useState } from 'preact/hooks';
import { send } from '../ask.ts';
import { TextField } from '../field.tsx';
import { say, sayAny } from '../language.ts';
import { useOutcome } from '../sent.ts';
import { loadMe, me } from './me.ts';
import { wanted } from './proof.ts';

/** Asks who does it, once an act needs to know; it stands over the screen that asked. */
export function ProofDialog() {
  const dialog = useRef<HTMLDialogElement>(null);
  const waiting = wanted.value;
  const full = me.value?.who?.kind === 'full';
  useEffect(() => {
    if (waiting !== null) dialog.current?.showModal();
    else dialog.current?.close();
  }, [waiting]);
  return (
    <dialog ref={dialog} aria-labelledby="proof-title" onClose={() => wanted.value?.done(false)}>
      {waiting?.what === 'who' && <Identify />}
      {waiting?.what === 'signature' &&
        (full ? <Signature meaning={waiting.meaning} /> : <SignIn title="proof-title" />)}
    </dialog>
  );
}

/** The plant's own sign-in service has said who it is, and nobody here is that. */
const wasRefused = new URLSearchParams(location.search).get('sign-on') === 'refused';

interface Proof {
  refused: string | null;
  isSending: boolean;
  prove: (address: string, body: object) => void;
}

function useProof(then: () => void): Proof {
  const { sent, follow } = useOutcome();
  return {
    refused: sent.state === 'refused' ? sent.text : null,
    isSending: sent.state === 'sending',
    prove: (address, body) => follow(send(address, body), '', then),
  };
}

/** Signing in takes a second on purpose: meanwhile the button says that it was pressed. */
function GoOn({ isSending, text }: { isSending: boolean; text: string }) {
  return (
    <button class="main" disabled={isSending}>
      {isSending ? say('act.sending') : text}
    </button>
  );
}

function Why({ refused }: { refused: string | null }) {
  return <div role="alert">{refused !== null && <p class="refused">{refused}</p>}</div>;
}

const valuesOf = (form: HTMLFormElement): Record<string, string> =>
  Object.fromEntries([...new FormData(form)].map(([name, value]) => [name, String(value)]));

/** A badge, or name and PIN: for the one act. A scanner types a badge and ends it with Enter. */
function Identify() {
  const { refused, isSending, prove } = useProof(() => wanted.value?.done(true));
  const [byBadge, setByBadge] = useState(true);
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        prove('/identify', valuesOf(event.currentTarget));
      }}
    >
      <h2 id="proof-title">{say('person.who')}</h2>
      <p>{say('people.oneAct')}</p>
      {byBadge ? (
        <TextField
          name="badge"
          label={say('people.badge')}
          type="password"
          autocomplete="off"
          focus
          required
        />
      ) : (
        <>
          <TextField
            name="name"
            label={say('people.name')}
            autocomplete="username"
            focus
            required
          />
          <TextField
            name="pin"
            label={say('people.pin')}
            type="password"
            inputMode="numeric"
            autocomplete="off"
            required
          />
        </>
      )}
      <Why refused={refused} />
      <div class="acts-row">
        <GoOn isSending={isSending} text={say('person.goOn')} />
        <button type="button" onClick={() => setByBadge(!byBadge)}>
          {byBadge ? say('people.byPin') : say('people.byBadge')}
        </button>
        <button type="button" onClick={() => wanted.value?.done(false)}>
          {say('person.cancel')}
        </button>
      </div>
    </form>
  );
}

/** The password again, with what the act means: as good as a name under a paper. */
function Signature({ meaning }: { meaning: string }) {
  const { refused, isSending, prove } = useProof(() => wanted.value?.done(true));
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        prove('/sign', { meaning, ...valuesOf(event.currentTarget) });
      }}
    >
      <h2 id="proof-title">{say('people.sign', { name: me.value?.who?.name ?? '' })}</h2>
      <p>
        {say('people.meaning')} <b>{sayAny(`people.${meaning}`, meaning)}</b>
      </p>
      <TextField
        name="password"
        label={say('people.password')}
        type="password"
        autocomplete="current-password"
        focus
        required
      />
      <Why refused={refused} />
      <div class="acts-row">
        <GoOn isSending={isSending} text={say('people.signIt')} />
        <button type="button" onClick={() => wanted.value?.done(false)}>
          {say('person.cancel')}
        </button>
      </div>
    </form>
  );
}

/** Name and password: until the browser is closed, or rests for half an hour. */
export function SignIn({ title }: { title: string }) {
  const { refused, isSending, prove } = useProof(() => void loadMe());
  const service = me.value?.signOn ?? null;
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        prove('/sign-in', valuesOf(event.currentTarget));
      }}
    >
      <h2 id={title}>{say('people.signIn')}</h2>
      <TextField name="name" label={say('people.name')} autocomplete="username" focus required />
      <TextField
        name="password"
        label={say('people.password')}
        type="password"
        autocomplete="current-password"
        required
      />
      <Why refused={refused} />
      <div class="acts-row">
        <GoOn isSending={isSending} text={say('people.signIn')} />
        {service !== null && (
          <a class="button" href="/api/v1/sign-on/begin">
            {say('people.signOn', { service })}
          </a>
        )}
        {wanted.value !== null && (
          <button type="button" onClick={() => wanted.value?.done(false)}>
            {say('person.cancel')}
          </button>
        )}
      </div>
      {wasRefused && <p class="refused">{say('people.signOnRefused')}</p>}
    </form>
  );
}
