import type { Request, RequestHandler, Response } from 'express';
import type { Beat } from '@setwell/shared-models/api/page';
import { eventOf, type LiveFeed, type SentFrame } from './live-feed.ts';
import type { HallReach } from './people/hall-reach.ts';
import { Problem } from './problem.ts';

const reconnectMs = 1_000;
/** Fifty screens with a few tabs each. */
const streamsAtMost = 250;
/** What a slow reader may leave waiting before it is dropped; it comes back and gets the whole. */
const waitingBytesAtMost = 1024 * 1024;

export function write(response: Response, text: string | Buffer): void {
  if (response.writableEnded) return;
  if (response.writableLength > waitingBytesAtMost) response.destroy();
  else response.write(text);
}

/** Who may read a stream: asked anew while it is open, for a stream may last for weeks. */
export interface Admission {
  mayRead: (request: Request) => boolean;
  reachOf: (request: Request) => HallReach | null;
  /** Hears whenever somebody may no longer what he might before. @returns ends it */
  onChange: (listener: () => void) => () => void;
  beatEveryMs: number;
}

interface Begun {
  /** Streams of the kind that are open already. */
  open: number;
  admission: Admission;
  beat: () => void;
}

/**
 * Begins a stream that ends once its reader may look no longer: at once where he is let out or signs out, at
 * the next beat where his time is over.
 *
 * @returns what of the plant its reader may read now
 * @throws Problem 503 where enough are open
 */
export function beginEvents(
  request: Request,
  response: Response,
  { open, admission, beat }: Begun,
): () => HallReach | null {
  if (open >= streamsAtMost) {
    throw new Problem(503, 'too-many', 'Too many screens are watching this server.');
  }
  let reach = admission.reachOf(request);
  response.writeHead(200, {
    'content-type': 'text/event-stream',
    'cache-control': 'no-store',
    'x-accel-buffering': 'no',
  });
  write(response, `retry: ${reconnectMs}\n\n`);
  const lookAgain = (): void => {
    if (admission.mayRead(request)) reach = admission.reachOf(request);
    else response.end();
  };
  const timer = setInterval(() => {
    lookAgain();
    beat();
  }, admission.beatEveryMs);
  const stopHearing = admission.onChange(lookAgain);
  response.on('close', () => {
    clearInterval(timer);
    stopHearing();
  });
  return () => reach;
}

function eventFor({ id, frame, event }: SentFrame, reach: HallReach | null): Buffer {
  return reach === null ? event : eventOf(id, reach.frame(frame));
}

/** `GET /stream`: the whole state, or what was missed since `Last-Event-ID`; then each change as it comes. */
export function eventStream(
  feed: LiveFeed,
  nowMs: () => number,
  page: string,
  admission: Admission,
): RequestHandler {
  return (request, response) => {
    const beat = (): void => {
      const said: Beat = { nowMs: nowMs(), page };
      write(response, `event: beat\ndata: ${JSON.stringify(said)}\n\n`);
    };
    const reachNow = beginEvents(request, response, { open: feed.listeners, admission, beat });
    const tell = (sent: SentFrame): void => {
      const reach = reachNow();
      // Which station stands where is told anew: what was kept back until now may be this reader's.
      const isAnew = reach !== null && sent.frame.site !== undefined;
      write(response, eventFor(isAnew ? feed.whole() : sent, reach));
    };
    const lastId = request.header('last-event-id');
    const missed = lastId === undefined ? null : feed.since(lastId);
    for (const sent of missed ?? [feed.whole()]) tell(sent);
    beat();
    response.on('close', feed.listen(tell));
  };
}
