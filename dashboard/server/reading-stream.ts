import type { RequestHandler } from 'express';
import type { ReadingFrame } from '@setwell/shared-models/api/collector';
import type { CollectorClient } from './collector-client.ts';
import { beginEvents, write, type Admission } from './event-stream.ts';

const retryMs = 1_000;

interface Told {
  frame: ReadingFrame;
  /** The frame as an event: made once, and copied for none, for all who read the whole plant. */
  event: Buffer;
}

function eventOf(data: string): Buffer {
  return Buffer.from(`event: readings\ndata: ${data}\n\n`);
}

/** The newest values of points as they come, asked of the collector only while somebody looks at them. */
export class ReadingStream {
  readonly #client: CollectorClient;
  readonly #listeners = new Set<(told: Told) => void>();
  /** What the open following has said of each point. */
  readonly #newest = new Map<string, ReadingFrame['points'][string]>();
  #asOfMs = 0;
  #unfollow: (() => void) | null = null;
  #retry: NodeJS.Timeout | null = null;

  constructor(client: CollectorClient) {
    this.#client = client;
  }

  get listeners(): number {
    return this.#listeners.size;
  }

  /** Hears of each point first, then of those that change. The answer ends it. */
  listen(listener: (told: Told) => void): () => void {
    this.#listeners.add(listener);
    if (this.#newest.size > 0) listener(this.#whole());
    if (this.#unfollow === null && this.#retry === null) this.#follow();
    return () => {
      this.#listeners.delete(listener);
      if (this.#listeners.size === 0) this.stop();
    };
  }

  stop(): void {
    if (this.#retry !== null) clearTimeout(this.#retry);
    this.#retry = null;
    const unfollow = this.#unfollow;
    this.#unfollow = null;
    this.#newest.clear();
    unfollow?.();
  }

  #whole(): Told {
    const frame = { asOfMs: this.#asOfMs, points: Object.fromEntries(this.#newest) };
    return { frame, event: eventOf(JSON.stringify(frame)) };
  }

  #follow(): void {
    this.#retry = null;
    const unfollow = this.#client.follow(
      '/follow/readings',
      (data) => {
        const told = { frame: JSON.parse(data) as ReadingFrame, event: eventOf(data) };
        this.#asOfMs = told.frame.asOfMs;
        for (const [point, reading] of Object.entries(told.frame.points)) {
          this.#newest.set(point, reading);
        }
        for (const listener of this.#listeners) listener(told);
      },
      () => {
        // Let go by us, or by a collector that comes back.
        if (this.#unfollow !== unfollow) return;
        this.#unfollow = null;
        this.#retry = setTimeout(() => this.#follow(), retryMs);
      },
    );
    this.#unfollow = unfollow;
  }
}

/** What a frame says of one point; null: nothing. */
function ofPoint({ asOfMs, points }: ReadingFrame, point: string): ReadingFrame | null {
  const own = Object.hasOwn(points, point) ? points[point] : undefined;
  return own === undefined ? null : { asOfMs, points: { [point]: own } };
}

/** `GET /readings/stream?point=`: newest values as they come, of one point or of all. */
export function readingEvents(stream: ReadingStream, admission: Admission): RequestHandler {
  return (request, response) => {
    const open = stream.listeners;
    // Values come on their own; where they do not, nothing is missed by a silent connection.
    const reachNow = beginEvents(request, response, { open, admission, beat: () => undefined });
    const { point } = request.query;
    const stop = stream.listen((told) => {
      const own = typeof point === 'string' ? ofPoint(told.frame, point) : told.frame;
      if (own === null) return;
      const reach = reachNow();
      const isWhole = own === told.frame && reach === null;
      const of = (): Buffer => eventOf(JSON.stringify(reach === null ? own : reach.of(own)));
      write(response, isWhole ? told.event : of());
    });
    response.on('close', stop);
  };
}
