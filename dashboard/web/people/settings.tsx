import type { ComponentChildren } from 'preact';
import { LanguageButton, ThemeButton } from '../frame.tsx';
import { say } from '../language.ts';
import { DevicesPart } from './devices-part.tsx';
import { may, me } from './me.ts';
import { PeoplePart } from './people-part.tsx';
import { NotedPart } from './noted-part.tsx';
import { OwnAccount, signOut } from './own-account.tsx';
import { SignIn } from './proof-dialog.tsx';
import { SetupForm } from './setup-form.tsx';
import { ToldPart } from './told-part.tsx';
import './settings.css';

/** Who this is, whom the plant lets in, and what is kept of anybody. */
export function SettingsScreen() {
  return (
    <div class="settings-screen">
      <h1 class="pad">{say('people.settings')}</h1>
      <p class="acts-row pad">
        <a class="button" href="/settings/upkeep">
          {say('upkeep.to')}
        </a>
        <a class="button" href="/sensors/health">
          {say('health.toHealth')}
        </a>
      </p>
      <You />
      {may('audit') && me.value?.mode !== 'founder' && <PeoplePart />}
      {may('administer') && me.value?.mode === 'people' && <DevicesPart />}
      {may('administer') && me.value?.mode === 'people' && <NotedPart />}
      {may('audit') && <ToldPart />}
      <Part title={say('app.settings')}>
        <div class="acts-row">
          <LanguageButton />
          <ThemeButton />
        </div>
      </Part>
      <Part title={say('privacy.title')}>
        <a class="button" href="/settings/people-kept">
          {say('privacy.to')}
        </a>
      </Part>
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
  if (known.mode === 'founder') {
    return (
      <Part title={say('people.first')}>
        <p>{say('people.firstWhy')}</p>
        <SetupForm />
      </Part>
    );
  }
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
      <button onClick={() => void signOut()}>{say('people.signOut')}</button>
      <OwnAccount />
    </Part>
  );
}
