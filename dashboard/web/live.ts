import { computed, signal } from '@preact/signals';
import { plantMs } from '@setwell/shared-models/api/clock';
import {
  emptyLive,
  nextLive,
  openCalls,
  type LiveFrame,
  type LiveState,
} from '@setwell/shared-models/api/floor';
import type { Beat, PageBlock } from '@setwell/shared-models/api/page';
import { loadMe } from './people/me.ts';

/** Longer than two heartbeats of the server without a word: the connection is dead, whatever the browser thinks. */
const silentMs = 45_000;
const retryMs = 2_000;
/** A screen clock that is off by more is said to be, and the plant's is shown [wall ms]. */
const clockOffMs = 5_000;

/** What the page brought with it, so that the frame with the station names stands at once. */
const block = document.getElementById('plant')?.textContent;
const brought: PageBlock | null = block ? (JSON.parse(block) as PageBlock) : null;

/** The page this one is, and the one the server has now; null before the server has said. */
export const pageNow = signal<{ mine: string; now: string } | null>(null);

export const live = signal<LiveState>(emptyLive);
/** Whether a first whole state has come. */
export const fetched = signal(false);
export const openedWallMs = Date.now();

/** Plant time minus what this screen's clock says it is [ms of plant time]. */
const offMs = signal(0);
const wallMs = signal(Date.now());
/** Plant time since when nothing has come from the server; null while connected. */
export const lostSinceMs = signal<number | null>(null);
export const retryAtWallMs = signal<number | null>(null);

function plantNow(atWallMs: number): number {
  const clock = live.value.site?.clock;
  return (clock === undefined ? atWallMs : plantMs(clock, atWallMs)) + offMs.value;
}

/** Plant time, second by second [ms]. It goes on while a connection is lost: the plant does too. */
export const nowMs = computed(() => plantNow(wallMs.value));
export const wallNowMs = computed(() => wallMs.value);

/** By how much this screen's own clock is off [s of wall time]; 0 while it is near enough. */
export const clockOffS = computed(() => {
  const rate = live.value.site?.clock.rate ?? 1;
  const wallOff = offMs.value / rate;
  return Math.abs(wallOff) > clockOffMs ? Math.round(Math.abs(wallOff) / 1000) : 0;
});

/** Plant time from which everything shown is, where a tie is lost: no minute counts down without data. */
export const staleSinceMs = computed(() => {
  if (lostSinceMs.value !== null) return lostSinceMs.value;
  const { link } = live.value;
  if (link.collector === 'gone') return link.sinceMs ?? nowMs.value;
  return link.judgedMs ?? null;
});

/** The clock that rows are read against. */
export const rowMs = computed(() => staleSinceMs.value ?? nowMs.value);

export const calls = computed(() => openCalls(live.value));
export const stations = computed(() => live.value.site?.stations ?? brought?.plant?.stations ?? []);
export const site = computed(() => live.value.site?.site ?? brought?.plant?.site ?? null);

/** A clock time a little off is the network's doing; only a real difference moves the clock. */
function takeNow(sentMs: number): void {
  const rate = live.value.site?.clock.rate ?? 1;
  const clock = live.value.site?.clock;
  if (clock === undefined) return;
  const difference = sentMs - plantMs(clock, Date.now());
  offMs.value = Math.abs(difference) > clockOffMs * rate ? difference : 0;
}

let source: EventSource | null = null;
let lastWordWallMs = Date.now();

function heard(): void {
  lastWordWallMs = Date.now();
  lostSinceMs.value = null;
  retryAtWallMs.value = null;
}

function lost(): void {
  source?.close();
  source = null;
  if (lostSinceMs.value === null) lostSinceMs.value = plantNow(lastWordWallMs);
  retryAtWallMs.value = Date.now() + retryMs;
  // It may have been ended because nobody is signed in here any more.
  void loadMe();
}

function connect(): void {
  retryAtWallMs.value = null;
  lastWordWallMs = Date.now();
  const opened = new EventSource('/api/v1/stream');
  source = opened;
  opened.addEventListener('frame', (event: MessageEvent<string>) => {
    const frame = JSON.parse(event.data) as LiveFrame;
    heard();
    live.value = nextLive(live.value, frame);
    takeNow(frame.nowMs);
    if (frame.whole && frame.site !== undefined) fetched.value = true;
    else if (frame.site !== undefined) fetched.value = true;
  });
  opened.addEventListener('beat', (event: MessageEvent<string>) => {
    heard();
    const beat = JSON.parse(event.data) as Beat;
    takeNow(beat.nowMs);
    if (brought !== null) pageNow.value = { mine: brought.page, now: beat.page };
  });
  opened.onerror = lost;
}

/** Opens the one stream of this page, and keeps it open. */
export function watch(): void {
  connect();
  setInterval(() => {
    const wall = Date.now();
    wallMs.value = wall;
    if (source === null && retryAtWallMs.value !== null && wall >= retryAtWallMs.value) connect();
    else if (source !== null && wall - lastWordWallMs > silentMs) lost();
  }, 500);
}
