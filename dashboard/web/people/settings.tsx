import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { send } from '../ask.ts';
import { LanguageButton, ThemeButton } from '../frame.tsx';
import { say } from '../language.ts';
import { DevicesPart } from './devices-part.tsx';
import { loadMe, may, me } from './me.ts';
import { PeoplePart } from './people-part.tsx';
import { Field, SignIn } from './proof-dialog.tsx';
import './settings.css';

/** Who this is, whom the plant lets in, and what is kept of anybody. */
export function SettingsScreen() {
  return (
    <div class="settings-screen">
      <h1 class="pad">{say('people.settings')}</h1>
      <p class="pad">
        <a href="/sensors/health">{say('health.toHealth')}</a>
      </p>
      <You />
      {may('audit') && me.value?.mode !== 'founder' && <PeoplePart />}
      {may('administer') && me.value?.mode === 'people' && <DevicesPart />}
      <Part title={say('app.settings')}>
        <div class="acts-row">
          <LanguageButton />
          <ThemeButton />
        </div>
      </Part>
      <Privacy />
    </div>
  );
}

export function Part({ title, children }: { title: string; children: ComponentChildren }) {
  return (
    <section class="section">
      <h2>{title}</h2>
      {children}
    </section>
  );
}

function You() {
  const known = me.value;
  if (known === null) return null;
  if (known.mode === 'demo') return <Part title={say('people.you')}>{say('people.demo')}</Part>;
  if (known.mode === 'founder') return <Setup />;
  if (known.who === null || known.who.kind !== 'full') {
    return (
      <section class="section">
        <SignIn title="you-title" />
      </section>
    );
  }
  const jobs = known.who.jobs.map((job) => say(`person.${job}`)).join(', ');
  return (
    <Part title={say('people.you')}>
      <p>
        <b>{known.who.name}</b> · {jobs} · <span class="num">{known.who.id}</span>
      </p>
      <button onClick={() => void send('/sign-out', {}).then(loadMe)}>
        {say('people.signOut')}
      </button>
    </Part>
  );
}

/** The first administrator: only on this machine, only with the code of its terminal. */
function Setup() {
  const [refused, setRefused] = useState<string | null>(null);
  return (
    <Part title={say('people.first')}>
      <p>{say('people.firstWhy')}</p>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          const values = Object.fromEntries(new FormData(event.currentTarget));
          send('/setup', values).then(loadMe, (error: Error) => setRefused(error.message));
        }}
      >
        <Field name="code" label={say('people.code')} inputMode="numeric" autocomplete="off" />
        <Field name="name" label={say('people.name')} autocomplete="username" />
        <Field
          name="password"
          label={say('people.newPassword')}
          type="password"
          autocomplete="new-password"
          minLength={12}
        />
        <div role="alert">{refused !== null && <p class="refused">{refused}</p>}</div>
        <button class="main">{say('people.begin')}</button>
      </form>
    </Part>
  );
}

/** What a works council asks: what is kept of a person, where, for how long, and what is never made of it. */
function Privacy() {
  return (
    <Part title={say('privacy.title')}>
      <ul>
        <li>{say('privacy.record')}</li>
        <li>{say('privacy.names')}</li>
        <li>{say('privacy.screens')}</li>
        <li>{say('privacy.erase')}</li>
        <li>{say('privacy.never')}</li>
      </ul>
    </Part>
  );
}
