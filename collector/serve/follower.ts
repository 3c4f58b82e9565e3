import type { ServerResponse } from 'node:http';

/** A follower that takes nothing for so long is let go [ms of wall time]; it comes again by itself. */
const stuckAfterMs = 30_000;
/** An empty line, so that both ends know that the other is there [ms of wall time]. */
const heartbeatMs = 10_000;

/**
 * One who follows: newline-delimited JSON over an answer that does not end.
 *
 * `more` is asked for the next lines whenever the follower can take some; it keeps its own place, so that
 * nothing piles up for one who is slow.
 */
export class Follower {
  readonly #response: ServerResponse;
  readonly #more: () => string | null;
  #stuckSinceMs: number | null = null;
  #ended = false;
  readonly #beat: NodeJS.Timeout;

  constructor(response: ServerResponse, more: () => string | null, onEnd: () => void) {
    this.#response = response;
    this.#more = more;
    response.writeHead(200, {
      'content-type': 'application/x-ndjson; charset=utf-8',
      'cache-control': 'no-store',
    });
    response.flushHeaders();
    response.on('drain', () => this.pump());
    response.on('close', () => {
      this.#ended = true;
      clearInterval(this.#beat);
      onEnd();
    });
    this.#beat = setInterval(() => this.#heartbeat(), heartbeatMs);
  }

  /** Writes what there is, as far as the follower takes it. */
  pump(): void {
    while (!this.#ended && !this.#response.writableNeedDrain) {
      const lines = this.#more();
      if (lines === null) return;
      this.#response.write(lines);
    }
  }

  end(): void {
    this.#response.end();
  }

  #heartbeat(): void {
    if (!this.#response.writableNeedDrain) {
      this.#stuckSinceMs = null;
      this.#response.write('\n');
      return;
    }
    this.#stuckSinceMs ??= performance.now();
    if (performance.now() - this.#stuckSinceMs > stuckAfterMs) this.#response.destroy();
  }
}
