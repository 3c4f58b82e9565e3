import { computed, effect, signal } from '@preact/signals';
import { pageNow, site, wallNowMs } from './live.ts';
import { loadMe } from './people/me.ts';
import { isKiosk } from './wall.ts';

/** Minute of the plant's day at which a kiosk loads its page anew: between shifts, when nobody looks. */
const nightlyAtMin = 3 * 60 + 10;
/** A page so young was loaded for this already [ms]. */
const youngMs = 10 * 60_000;
/** The picture stands at each of these places for an hour, so that nothing burns in [px]. */
const places = [
  [0, 0],
  [4, 2],
  [8, 4],
  [4, 6],
  [0, 4],
  [2, 2],
] as const;
const hourMs = 3_600_000;

/** The server misses a wall after four of them [ms]. */
const beatEveryMs = 30_000;

const openedMs = Date.now();
const beatAt = computed(() => Math.floor((wallNowMs.value - openedMs) / beatEveryMs));
/** The server has a newer page than this one. */
export const isOutdated = signal(false);
let isReloading = false;

/** A reload without a server would leave a dead page where a living one was: it is asked first. */
async function reload(): Promise<void> {
  if (isReloading) return;
  isReloading = true;
  try {
    if ((await fetch('/health/live')).ok) location.reload();
  } catch {
    // The connection has gone: the page stays, and the next minute asks again.
  }
  isReloading = false;
}

function minuteOfDay(ms: number): number {
  const parts = new Intl.DateTimeFormat('en-GB', {
    hour: 'numeric',
    minute: 'numeric',
    hourCycle: 'h23',
    timeZone: site.value?.timeZone ?? 'UTC',
  }).formatToParts(ms);
  const of = (type: string): number => Number(parts.find((part) => part.type === type)?.value);
  return of('hour') * 60 + of('minute');
}

/** Shifts the whole picture by a few pixels each hour. */
effect(() => {
  const [x, y] = places[Math.floor(wallNowMs.value / hourMs) % places.length] ?? places[0];
  document.documentElement.style.setProperty('--shift-x', `${String(x)}px`);
  document.documentElement.style.setProperty('--shift-y', `${String(y)}px`);
});

effect(() => {
  isOutdated.value = pageNow.value !== null && pageNow.value.now !== pageNow.value.mine;
  if (isOutdated.value && isKiosk) void reload();
});

/** A wall says that it lives: a picture that has frozen asks nothing. */
effect(() => {
  if (isKiosk && beatAt.value > 0) void loadMe();
});

/** Once a night, at a set minute: what a browser gathers over weeks goes. */
effect(() => {
  const ms = wallNowMs.value;
  if (!isKiosk || ms - openedMs < youngMs || Math.floor(ms / 1000) % 10 !== 0) return;
  if (minuteOfDay(ms) === nightlyAtMin) void reload();
});
