import { LanguageButton, SoundButton, Tabs, ThemeButton } from '../frame.tsx';
import { lostSinceMs, nowMs, site, staleSinceMs } from '../live.ts';
import { say } from '../language.ts';
import { clockS } from '../phrase.ts';
import { isKiosk, showAs } from '../wall.ts';

/** Nothing that is needed stands down here; the seconds and the moving mark prove that the screen lives. */
export function WallFoot() {
  const stale = staleSinceMs.value !== null || lostSinceMs.value !== null;
  return (
    <footer class="foot">
      <span>
        {say('app.advises')} {say('floor.hot')}
      </span>
      {site.value?.demo === true && <b class="demo">{say('app.demo')}</b>}
      {!isKiosk && (
        <>
          <Tabs />
          <button class="quiet" onClick={() => showAs('desk')}>
            {say('app.asDesk')}
          </button>
          <SoundButton />
          <LanguageButton />
          <ThemeButton />
        </>
      )}
      <span class="num life">
        <span class={stale ? 'pulse still' : 'pulse'} aria-hidden="true" />
        {clockS(nowMs.value)} · {say(stale ? 'app.notConnected' : 'app.connected')}
      </span>
    </footer>
  );
}
