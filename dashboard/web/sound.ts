import { effect, signal } from '@preact/signals';
import type { FloorCall } from '@setwell/shared-models/api/floor';
import { keep, kept } from './kept.ts';
import { calls, fetched, wallNowMs } from './live.ts';
import { isKiosk } from './wall.ts';

/**
 * What a screen may say aloud; each is on the screen first. Never three even pulses and a pause, nor a
 * sweep: those mean evacuation and danger (ISO 8201, ISO 7731, from memory).
 */
type Motif = 'called' | 'running-out' | 'works';

/** Tones of a motif: frequency [Hz] and length [s], one after the other. */
const motifs: Record<Motif, { hz: number; s: number }[]> = {
  called: [
    { hz: 523, s: 0.25 },
    { hz: 784, s: 0.4 },
  ],
  'running-out': [
    { hz: 784, s: 0.25 },
    { hz: 523, s: 0.4 },
  ],
  works: [{ hz: 659, s: 0.5 }],
};

/** A call is heard again at most this often, until somebody goes [ms of wall time]. */
const againMs = 60_000;
const gain = 0.25;

const askedFor = new URLSearchParams(location.search).has('sound');

/** Off on desks; on a wall from its address, or once it has been touched. */
export const soundOn = signal(askedFor || (isKiosk && kept('sound') === 'on'));
/** Browsers keep sound locked until the page has been touched: then the bell is crossed out. */
export const soundLocked = signal(false);
/** Calls that this screen keeps quiet about: always one call, never all of them. */
export const quietCalls = signal<ReadonlySet<string>>(new Set());

let audio: AudioContext | null = null;
let lastMs = 0;

function play(motif: Motif): void {
  audio ??= new AudioContext();
  soundLocked.value = audio.state !== 'running';
  if (audio.state !== 'running') void audio.resume().then(() => (soundLocked.value = false));
  let atS = audio.currentTime;
  for (const { hz, s } of motifs[motif]) {
    const tone = audio.createOscillator();
    const level = audio.createGain();
    tone.frequency.value = hz;
    level.gain.setValueAtTime(gain, atS);
    level.gain.linearRampToValueAtTime(0, atS + s);
    tone.connect(level).connect(audio.destination);
    tone.start(atS);
    tone.stop(atS + s);
    atS += s;
  }
}

export function setSound(on: boolean): void {
  keep('sound', on ? 'on' : 'off');
  soundOn.value = on;
  if (on) play('works');
}

/** This screen says no more of one call; whoever else is told of it still is. */
export function quieten(call: string): void {
  quietCalls.value = new Set([...quietCalls.value, call]);
}

/** Whether a call may be heard: nobody has it, it is not put aside, and it was not quietened here. */
export const isHeard = (call: FloorCall, quiet: ReadonlySet<string>): boolean =>
  call.state === 'up' && call.shelved === null && !quiet.has(call.id);

/** The most urgent call that nobody has, at once and then once a minute. */
effect(() => {
  if (!soundOn.value || !fetched.value) return;
  const heard = calls.value.find((call) => isHeard(call, quietCalls.value));
  if (heard === undefined || wallNowMs.value - lastMs < againMs) return;
  lastMs = wallNowMs.value;
  play(heard.kind === 'nearing-most' ? 'running-out' : 'called');
});
