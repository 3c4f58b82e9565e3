import { useEffect } from 'preact/hooks';
import { signal } from '@preact/signals';
import { readActCode, type ActCode } from '@setwell/shared-models/plant/act-code';
import type { LotRow } from '@setwell/shared-models/api/dashboard';
import { act, ask } from '../ask.ts';
import { calls, live, stations } from '../live.ts';
import { say } from '../language.ts';
import { asPerson } from '../person.ts';
import { go } from '../route.ts';
import { openScanned } from '../search/found.ts';
import { listenToScans, scanned } from './scanner.ts';

const shownMs = 4_000;
const lotsAsked = 1000;
const minuteMs = 60_000;
const keptClosedMin = 5;

const answer = signal<string | null>(null);
let timer: ReturnType<typeof setTimeout> | undefined;

/** What the screen says to a scan or a search, for a few seconds. */
export function answerScan(text: string): void {
  answer.value = text;
  clearTimeout(timer);
  timer = setTimeout(() => (answer.value = null), shownMs);
}

const openLoad = (station: string) =>
  Object.values(live.value.loads).find((load) => load.station === station && load.state === 'open');

function send(address: string, body: object, done: string): void {
  asPerson((by) => {
    act(address, { by, ...body }).then(
      () => answerScan(done),
      (error: Error) => answerScan(error.message),
    );
  });
}

/** What a card beside a station was scanned for. */
function doCard({ act: what, station }: ActCode): void {
  if (what === 'start') {
    go(`/start/${encodeURIComponent(station)}`);
    return;
  }
  const call = calls.value.find((each) => each.station === station && each.acknowledged === null);
  if (what === 'go') {
    if (call === undefined) answerScan(say('scan.noCall', { station }));
    else send(`/calls/${encodeURIComponent(call.id)}/acknowledge`, {}, say('scan.go', { station }));
    return;
  }
  const load = openLoad(station);
  if (load === undefined) {
    answerScan(say('scan.noLoad', { station }));
    return;
  }
  const address = `/loads/${encodeURIComponent(load.load)}`;
  const done = say(`scan.${what}`, { station, lot: load.lot });
  if (what === 'end') send(`${address}/end`, { backDatedMin: 0 }, done);
  else if (what === 'hold') {
    const reason = say('scan.holdReason');
    send(`${address}/disposition`, { decision: 'hold', reason }, done);
  } else {
    const base = Math.max(load.plannedEndMs ?? 0, load.asOfMs);
    const untilMs = Math.ceil(base / minuteMs + keptClosedMin) * minuteMs;
    const reason = say('decide.keepReason');
    send(`${address}/disposition`, { decision: 'extend', untilMs, reason }, done);
  }
}

/** What is known: its page. What nobody knows is said, with where it can be looked into. */
function openFound(typed: string): void {
  openScanned(typed).then(
    ({ found, text }) => {
      if (found.length === 0) answerScan(say('scan.unknown', { typed }));
      else answerScan(text === typed ? text : say('scan.readAs', { typed, text }));
    },
    (error: Error) => answerScan(error.message),
  );
}

/** A scan that no screen has asked for: a card's act, else whatever bears the name. */
export function scanAnywhere(typed: string): true {
  const card = readActCode(
    typed,
    stations.value.map(({ id }) => id),
  );
  if (card === null) openFound(typed);
  else doCard(card);
  return true;
}

/** Scans that are lots go to whoever fills in one, known or not; a card's code stays the page's. */
export function listenForLot(take: (lot: string) => void): () => void {
  return listenToScans((typed) => {
    const ids = stations.value.map(({ id }) => id);
    if (readActCode(typed, ids) !== null) return false;
    void knownLots().then(
      (known) => {
        const lot = scanned(typed, (each) => known.has(each)) ?? typed;
        take(lot);
        answerScan(lot === typed ? lot : say('scan.readAs', { typed, text: lot }));
      },
      (error: Error) => answerScan(error.message),
    );
    return true;
  });
}

async function knownLots(): Promise<Set<string>> {
  const { lots } = await ask<{ lots: LotRow[] }>(`/lots?limit=${lotsAsked}`);
  return new Set(lots.map(({ lot }) => lot));
}

/** Takes every scan that no screen has taken, and answers on the screen. */
export function ScanAnswer() {
  useEffect(() => listenToScans(scanAnywhere), []);
  return (
    <div role="status" class={answer.value === null ? 'spoken' : 'scan-answer'}>
      {answer.value}
    </div>
  );
}
