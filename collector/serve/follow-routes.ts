import type { ServerResponse } from 'node:http';
import type { Judgement, StationNow } from '@setwell/shared-models/api/collector';
import { Follower } from './follower.ts';
import type { Asked, Route } from './route.ts';
import type { Served } from './served.ts';

/** Entries written to a follower in one go. */
const entriesAtOnce = 200;
/** Newest values go out at most so often: one at once, what comes in the meantime together [ms of wall time]. */
const frameEveryMs = 100;

/** What is followed: newline-delimited JSON over answers that do not end. */
export function followRoutes(served: Served): Route[] {
  return [
    {
      method: 'GET',
      path: '/follow/ledger',
      follow: (asked, response) => followLedger(served, asked, response),
    },
    {
      method: 'GET',
      path: '/follow/readings',
      follow: (_asked, response) => followReadings(served, response),
    },
    {
      method: 'GET',
      path: '/follow/judgements',
      follow: (_asked, response) => followJudgements(served, response),
    },
  ];
}

function followLedger({ ledger }: Served, asked: Asked, response: ServerResponse): void {
  let after = asked.integer('after', {
    from: -1,
    to: Number.MAX_SAFE_INTEGER,
    otherwise: -1,
  });
  const follower = new Follower(
    response,
    () => {
      const entries = ledger.entriesAfter(after, entriesAtOnce);
      after = entries.at(-1)?.n ?? after;
      return entries.length === 0
        ? null
        : entries.map(({ bytes }) => `${bytes.toString('utf8')}\n`).join('');
    },
    () => unsubscribe(),
  );
  const unsubscribe = ledger.onAppend(() => follower.pump());
  follower.pump();
}

function followReadings({ live, nowMs }: Served, response: ServerResponse): void {
  let change = 0;
  const follower = new Follower(
    response,
    () => {
      const next = live.frames(change, nowMs());
      change = next.change;
      if (next.frames.length === 0) return null;
      return next.frames.map((frame) => `${JSON.stringify(frame)}\n`).join('');
    },
    () => {
      unsubscribe();
      if (timer !== null) clearTimeout(timer);
    },
  );
  let timer: NodeJS.Timeout | null = null;
  let nextMs = 0;
  const tell = () => {
    timer = null;
    nextMs = performance.now() + frameEveryMs;
    follower.pump();
  };
  // Never within the commit: its acknowledgement goes first.
  const tellSoon = () => {
    timer ??= setTimeout(tell, Math.max(0, nextMs - performance.now()));
  };
  const unsubscribe = live.onChange(tellSoon);
  tell();
}

function followJudgements({ judgements }: Served, response: ServerResponse): void {
  // The newest of each load and station waits for one who is slow; older ones are of no use.
  const waiting = new Map<string, Judgement | StationNow>();
  const wait = (changed: (Judgement | StationNow)[]) => {
    for (const one of changed) {
      waiting.set(one.type === 'station' ? `s ${one.station}` : `l ${one.load}`, one);
    }
  };
  const follower = new Follower(
    response,
    () => {
      if (waiting.size === 0) return null;
      const lines = [...waiting.values()].map((one) => `${JSON.stringify(one)}\n`).join('');
      waiting.clear();
      return lines;
    },
    () => unsubscribe(),
  );
  const unsubscribe = judgements.onChange((changed) => {
    wait(changed);
    follower.pump();
  });
  wait(judgements.all());
  follower.pump();
}
