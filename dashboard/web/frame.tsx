import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { signal } from '@preact/signals';
import {
  calls,
  clockOffS,
  fetched,
  live,
  lostSinceMs,
  nowMs,
  openedWallMs,
  retryAtWallMs,
  site,
  wallNowMs,
} from './live.ts';
import { degrees, setDegrees } from './degrees.ts';
import { isOutdated } from './kiosk.ts';
import { Field } from './field.tsx';
import { language, say, sayAny, setLanguage } from './language.ts';
import { jobs, type Job } from '@setwell/shared-models/api/people';
import { isShut, me } from './people/me.ts';
import { ProofDialog } from './people/proof-dialog.tsx';
import { callMe, job, lookAs, typedName, waitingAct } from './person.ts';
import { callText, clock, clockS, day } from './phrase.ts';
import { path } from './route.ts';
import { ScanAnswer } from './scan/scan-answer.tsx';
import { SearchField } from './search/search-field.tsx';
import { setSound, soundLocked, soundOn } from './sound.ts';
import { setTheme, theme } from './theme.ts';
import { isWall } from './wall.ts';

const tabs = [
  { to: '/', key: 'nav.floor', onWall: true },
  { to: '/lots', key: 'nav.lots', onWall: true },
  { to: '/heat-up', key: 'nav.heatUp', onWall: true },
  { to: '/calls', key: 'nav.calls', onWall: true },
  { to: '/records', key: 'nav.records', onWall: false },
  { to: '/recipes', key: 'nav.recipes', onWall: false },
  { to: '/sensors', key: 'nav.sensors', onWall: false },
  { to: '/start', key: 'nav.start', onWall: false },
] as const;

function isCurrent(to: string): boolean {
  const at = path.value;
  if (to === '/') return at === '/' || at.startsWith('/floor') || at.startsWith('/load/');
  return at.startsWith(to);
}

function Person() {
  if (site.value?.demo === true) {
    return (
      <label class="person">
        <span>{say('person.lookAs')}</span>
        <select value={job.value} onChange={(event) => lookAs(event.currentTarget.value as Job)}>
          {jobs.map((each) => (
            <option key={each} value={each}>
              {say(`person.${each}`)}
            </option>
          ))}
        </select>
      </label>
    );
  }
  if (me.value?.mode === 'people') {
    return (
      <a class="person" href="/settings">
        {me.value.who?.name ?? say('people.signIn')}
      </a>
    );
  }
  return (
    <button
      class="quiet"
      onClick={() => {
        waitingAct.value = () => undefined;
      }}
    >
      {typedName.value === '' ? say('person.none') : typedName.value}
    </button>
  );
}

/** Asks for a name once, where an act needs one and the plant has no sign-in yet. */
function WhoDialog() {
  const dialog = useRef<HTMLDialogElement>(null);
  const field = useRef<HTMLInputElement>(null);
  const waiting = waitingAct.value;
  useEffect(() => {
    if (waiting !== null) dialog.current?.showModal();
    else dialog.current?.close();
  }, [waiting]);
  return (
    <dialog
      ref={dialog}
      aria-labelledby="who-title"
      onClose={() => {
        waitingAct.value = null;
      }}
    >
      <form
        method="dialog"
        onSubmit={() => {
          const name = field.current?.value.trim() ?? '';
          if (name === '') return;
          callMe(name);
          waiting?.(name);
        }}
      >
        <h2 id="who-title">{say('person.who')}</h2>
        <Field label={say('person.name')}>
          <input
            ref={field}
            maxLength={60}
            autocomplete="name"
            defaultValue={typedName.value}
            required
          />
        </Field>
        <p>{say('person.later')}</p>
        <div class="acts-row">
          <button class="main">{say('person.goOn')}</button>
          <button type="button" onClick={() => dialog.current?.close()}>
            {say('person.cancel')}
          </button>
        </div>
      </form>
    </dialog>
  );
}

/** What the collector says of itself, in the reader's words; its broker has a line of its own. */
function troubleText(trouble: string | null): string {
  const codes = trouble?.split(',').filter((code) => code !== 'broker') ?? [];
  return codes.map((code) => sayAny(`trouble.${code}`, code)).join(', ');
}

/** What must be known before anything below is believed: one line each, calm, across the top. */
function Bands() {
  // A stranger is told nothing of the plant, not even whether it is there.
  if (isShut.value) return null;
  const lines: string[] = [];
  const { link } = live.value;
  const lostMs = lostSinceMs.value;
  if (lostMs !== null) {
    const retry = retryAtWallMs.value;
    const s = retry === null ? 0 : Math.ceil((retry - wallNowMs.value) / 1000);
    lines.push(
      `${say('band.noConnection', { clock: clockS(lostMs) })} ${
        s > 0 ? say('band.retry', { s }) : say('band.retryNow')
      }`,
    );
  } else if (link.collector === 'gone') {
    lines.push(say('band.collectorGone', { clock: clockS(link.sinceMs ?? nowMs.value) }));
  } else if (fetched.value) {
    const trouble = troubleText(link.trouble);
    if (trouble !== '') lines.push(say('band.trouble', { what: trouble }));
    if (link.judgedMs !== undefined) {
      lines.push(say('band.judge', { clock: clockS(link.judgedMs) }));
    }
    if (link.broker?.connected === false) {
      lines.push(say('band.broker', { clock: clock(link.broker.sinceMs ?? nowMs.value) }));
    }
  } else {
    const waitedMs = wallNowMs.value - openedWallMs;
    if (waitedMs > 10_000) lines.push(say('band.fetchingLong'));
    else if (waitedMs > 2_000) lines.push(say('band.fetching'));
  }
  if (me.value?.plainHttp === true) lines.push(say('people.plainHttp'));
  if (clockOffS.value > 0) lines.push(say('band.clock', { s: clockOffS.value }));
  return (
    <div role="status" class="bands">
      {lines.map((line) => (
        <p key={line.slice(0, 12)} class="band">
          {line}
        </p>
      ))}
      {isOutdated.value && (
        <p class="band">
          {say('band.newer')}{' '}
          <button onClick={() => location.reload()}>{say('band.reload')}</button>
        </p>
      )}
    </div>
  );
}

const spokenCall = signal('');
const known = new Set<string>();
let primed = false;

/** Speaks a call when it is new, once; calls that stood when the page opened are not new. */
function CallVoice() {
  useEffect(() => {
    if (!fetched.value) return;
    const fresh = calls.value.filter((call) => !known.has(call.id));
    for (const call of fresh) known.add(call.id);
    const first = fresh[0];
    if (primed && first !== undefined) {
      spokenCall.value = say('calls.new', { station: first.station ?? '', text: callText(first) });
    }
    primed = true;
  }, [calls.value, fetched.value]);
  return (
    <div role="alert" class="spoken">
      {spokenCall.value}
    </div>
  );
}

export function ThemeButton() {
  const next = theme.value === 'dark' ? 'light' : 'dark';
  return (
    <button class="quiet" onClick={() => setTheme(next)}>
      {say(next === 'dark' ? 'app.dark' : 'app.light')}
    </button>
  );
}

/** The bell: on, off, or crossed out where the browser keeps it locked. Switched on, it shows that it works. */
export function SoundButton() {
  const on = soundOn.value;
  return (
    <button class="quiet" aria-pressed={on} onClick={() => setSound(!on)}>
      {say(!on ? 'app.soundOff' : soundLocked.value ? 'app.soundLocked' : 'app.soundOn')}
    </button>
  );
}

function DegreesButton() {
  const next = degrees.value === '°C' ? '°F' : '°C';
  return (
    <button class="quiet" onClick={() => setDegrees(next)}>
      {next}
    </button>
  );
}

export function LanguageButton() {
  const next = language.value === 'en' ? 'de' : 'en';
  return (
    <button class="quiet" lang={next} onClick={() => setLanguage(next)}>
      {say('app.language')}
    </button>
  );
}

/** Under a wall stand those that people read from afar: its foot is one line, or the rows get too small. */
export function Tabs() {
  const shown = tabs.filter(({ onWall }) => onWall || !isWall.value);
  return (
    <nav aria-label={say('nav.label')}>
      {shown.map(({ to, key }) => (
        <a key={to} href={to} aria-current={isCurrent(to) ? 'page' : undefined}>
          {say(key)}
          {to === '/calls' && calls.value.length > 0 && (
            <span class="count num">{calls.value.length}</span>
          )}
        </a>
      ))}
    </nav>
  );
}

function Settings() {
  return (
    <div class="settings">
      <Person />
      <SoundButton />
      <DegreesButton />
      <LanguageButton />
      <ThemeButton />
    </div>
  );
}

function Head() {
  return (
    <header class="top">
      <a class="name" href="/">
        {say('app.name')}
      </a>
      {site.value?.demo === true && <span class="demo">{say('app.demo')}</span>}
      <Tabs />
      <SearchField />
      {/* Before the plant is known its time zone is not, and a clock of another zone misleads. */}
      {site.value !== null && (
        <span class="clock num">
          <span class="date">{day(nowMs.value)} </span>
          {clockS(nowMs.value)}
        </span>
      )}
      <Settings />
    </header>
  );
}

/** What stands around every screen. The wall has no head: its floor needs the height. */
export function Frame({ children }: { children: ComponentChildren }) {
  const wall = isWall.value;
  return (
    <>
      <a class="skip" href="#content">
        {say('app.skip')}
      </a>
      {!wall && <Head />}
      <Bands />
      <main id="content" tabIndex={-1} class={wall ? 'wall' : 'desk'}>
        {children}
      </main>
      {!wall && (
        <aside class="settings-foot" aria-label={say('app.settings')}>
          <SearchField />
          <Settings />
        </aside>
      )}
      <ScanAnswer />
      <CallVoice />
      <WhoDialog />
      <ProofDialog />
    </>
  );
}
