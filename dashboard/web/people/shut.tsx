import { useEffect } from 'preact/hooks';
import { signal } from '@preact/signals';
import { say } from '../language.ts';
import { randomId } from '../random-id.ts';
import { isKiosk, isWall, showAs } from '../wall.ts';
import { loadMe } from './me.ts';
import { SignIn } from './proof-dialog.tsx';
import { SetupForm } from './setup-form.tsx';

/** A wall asks so often whether somebody has typed its code. */
const askEveryMs = 3_000;
const code = signal<string | null>(null);
const wall = randomId();

async function askForCode(): Promise<void> {
  try {
    const response = await fetch(`/api/v1/pairing?wall=${wall}`);
    if (!response.ok) return;
    const answer = (await response.json()) as { code: string | null; paired: boolean };
    code.value = answer.code;
    // Everything is fetched anew with what the wall now is.
    if (answer.paired) location.reload();
  } catch {
    // The server is away: the wall goes on asking.
  }
}

/** What a browser shows that nobody has signed in at: a wall its code, everything else a way in. */
export function Shut() {
  const hangs = isWall.value;
  useEffect(() => {
    if (!hangs) return undefined;
    void askForCode();
    const timer = setInterval(() => void askForCode(), askEveryMs);
    return () => clearInterval(timer);
  }, [hangs]);
  useEffect(() => {
    const timer = setInterval(() => void loadMe(), 30_000);
    return () => clearInterval(timer);
  }, []);
  if (hangs) {
    const digits = code.value?.replace(/(\d{3})(?=\d)/, '$1 ') ?? '…';
    return (
      <div class="unpaired">
        <h1>{say('people.unpaired')}</h1>
        <p class="pairing num">{say('floor.pair', { code: digits })}</p>
        {!isKiosk && (
          <p>
            <button onClick={() => showAs('desk')}>{say('people.signIn')}</button>
          </p>
        )}
      </div>
    );
  }
  return (
    <section class="section shut">
      <h1>{say('people.shut')}</h1>
      <SignIn title="shut-title" />
      <details>
        <summary>{say('people.lockedOut')}</summary>
        <p>{say('people.lockedOutHow')}</p>
        <SetupForm />
      </details>
    </section>
  );
}
