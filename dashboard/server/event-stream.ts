import type { Request, RequestHandler, Response } from 'express';
import type { Beat } from '@setwell/shared-models/api/page';
import type { LiveFeed, SentFrame } from './live-feed.ts';
import type { HallReach } from './people/hall-reach.ts';
import { Problem } from './problem.ts';

const heartbeatMs = 20_000;
const reconnectMs = 1_000;
/** Fifty screens with a few tabs each. */
const streamsAtMost = 250;
/** What a slow reader may leave waiting before it is dropped; it comes back and gets the whole. */
const waitingBytesAtMost = 1024 * 1024;

export function write(response: Response, text: string): void {
  if (response.writableLength > waitingBytesAtMost) response.destroy();
  else response.write(text);
}

/** @param open streams of the kind that are open already @throws Problem 503 where that is enough */
export function beginEvents(response: Response, open: number): void {
  if (open >= streamsAtMost) {
    throw new Problem(503, 'too-many', 'Too many screens are watching this server.');
  }
  response.writeHead(200, {
    'content-type': 'text/event-stream',
    'cache-control': 'no-store',
    'x-accel-buffering': 'no',
  });
  write(response, `retry: ${reconnectMs}\n\n`);
}

function frameText({ id, frame, data }: SentFrame, reach: HallReach | null): string {
  const told = reach === null ? data : JSON.stringify(reach.frame(frame));
  return `id: ${id}\nevent: frame\ndata: ${told}\n\n`;
}

/** `GET /stream`: the whole state, or what was missed since `Last-Event-ID`; then each change as it comes. */
export function eventStream(
  feed: LiveFeed,
  nowMs: () => number,
  page: string,
  reachOf: (request: Request) => HallReach | null,
): RequestHandler {
  return (request, response) => {
    const reach = reachOf(request);
    const tell = (sent: SentFrame): void => {
      // Which station stands where is told anew: what was kept back until now may be this reader's.
      const isAnew = reach !== null && sent.frame.site !== undefined;
      write(response, frameText(isAnew ? feed.whole() : sent, reach));
    };
    beginEvents(response, feed.listeners);
    const lastId = request.header('last-event-id');
    const missed = lastId === undefined ? null : feed.since(lastId);
    for (const sent of missed ?? [feed.whole()]) tell(sent);
    const beat = (): void => {
      const said: Beat = { nowMs: nowMs(), page };
      write(response, `event: beat\ndata: ${JSON.stringify(said)}\n\n`);
    };
    beat();
    const timer = setInterval(beat, heartbeatMs);
    const stopListening = feed.listen(tell);
    response.on('close', () => {
      clearInterval(timer);
      stopListening();
    });
  };
}
