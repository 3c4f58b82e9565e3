import {
  emptyLive,
  nextLive,
  type LiveFrame,
  type LiveState,
} from '@setwell/shared-models/api/floor';

/** Screens get at most this many frames a second; what changes more often is told once. */
const framesPerS = 3;
/**
 * Frames kept for browsers that come back: about a minute and a half at full rate. Of a large plant fewer: what
 * has been missed is then soon more than the whole.
 */
const ringSize = 256;
const ringBytes = 2 * 1024 * 1024;

export interface SentFrame {
  /** `epoch-number`; a new epoch with each start of the server. */
  id: string;
  frame: LiveFrame;
  /** The frame as an event: made once, and copied for none, for all who read the whole plant. */
  event: Buffer;
}

/** A frame as a stream tells it. */
export function eventOf(id: string, frame: LiveFrame): Buffer {
  return Buffer.from(`id: ${id}\nevent: frame\ndata: ${JSON.stringify(frame)}\n\n`);
}

type Changes = Omit<LiveFrame, 'whole' | 'nowMs'>;

/**
 * What every open screen sees: one state by key, and the frames that tell its changes.
 * Changes of one key within a frame's time are told as the last of them.
 */
export class LiveFeed {
  readonly #epoch: string;
  readonly #nowMs: () => number;
  #state: LiveState = emptyLive;
  #pending: Changes | null = null;
  #timer: NodeJS.Timeout | null = null;
  #lastSentMs = 0;
  #number = 0;
  #ring: SentFrame[] = [];
  #ringBytes = 0;
  readonly #listeners = new Set<(frame: SentFrame) => void>();

  constructor(epoch: string, nowMs: () => number) {
    this.#epoch = epoch;
    this.#nowMs = nowMs;
  }

  get state(): LiveState {
    return this.#state;
  }

  /** Takes changes in; they are told with the next frame. */
  put(changes: Changes): void {
    this.#state = nextLive(this.#state, { whole: false, nowMs: 0, ...changes });
    const pending = this.#pending;
    this.#pending = pending === null ? changes : joined(pending, changes);
    if (this.#timer !== null) return;
    const waitMs = Math.max(0, this.#lastSentMs + 1000 / framesPerS - performance.now());
    this.#timer = setTimeout(() => this.#flush(), waitMs);
  }

  /** Everything, as one frame: for a browser that comes new, or after too long. */
  whole(): SentFrame {
    const { site, link, stations, loads, calls } = this.#state;
    const frame: LiveFrame = { whole: true, nowMs: this.#nowMs(), link, stations, loads, calls };
    if (site !== null) frame.site = site;
    return this.#sent(frame);
  }

  /** Frames after an id; null where the id is of another life or too old, and the whole is needed. */
  since(id: string): SentFrame[] | null {
    const [epoch, text] = [id.slice(0, id.lastIndexOf('-')), id.slice(id.lastIndexOf('-') + 1)];
    const number = Number(text);
    if (epoch !== this.#epoch || !Number.isInteger(number) || number > this.#number) return null;
    const missed = this.#number - number;
    return missed > this.#ring.length ? null : this.#ring.slice(this.#ring.length - missed);
  }

  listen(listener: (frame: SentFrame) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  get listeners(): number {
    return this.#listeners.size;
  }

  stop(): void {
    if (this.#timer !== null) clearTimeout(this.#timer);
    this.#timer = null;
  }

  #flush(): void {
    this.#timer = null;
    if (this.#pending === null) return;
    const frame: LiveFrame = { whole: false, nowMs: this.#nowMs(), ...this.#pending };
    this.#pending = null;
    this.#lastSentMs = performance.now();
    this.#number += 1;
    const sent = this.#sent(frame);
    this.#keep(sent);
    for (const listener of this.#listeners) listener(sent);
  }

  #sent(frame: LiveFrame): SentFrame {
    const id = `${this.#epoch}-${this.#number}`;
    return { id, frame, event: eventOf(id, frame) };
  }

  #keep(sent: SentFrame): void {
    this.#ring.push(sent);
    this.#ringBytes += sent.event.length;
    while (this.#ring.length > ringSize || this.#ringBytes > ringBytes) {
      this.#ringBytes -= this.#ring.shift()?.event.length ?? 0;
    }
  }
}

function joined(first: Changes, then: Changes): Changes {
  const both: Changes = { ...first, ...then };
  if (first.stations && then.stations) both.stations = { ...first.stations, ...then.stations };
  if (first.loads && then.loads) both.loads = { ...first.loads, ...then.loads };
  if (first.calls && then.calls) both.calls = { ...first.calls, ...then.calls };
  return both;
}
