import type { Clock } from '../clock.ts';
import type { BusStatus } from './bus.ts';

/** The status of a bus and who wants to know of it. */
export class BusState {
  readonly #clock: Clock;
  readonly #listeners = new Set<(status: BusStatus) => void>();
  #status: BusStatus;

  constructor(url: string, clock: Clock) {
    this.#clock = clock;
    this.#status = { connected: false, sinceMs: null, url, faults: [] };
  }

  get status(): BusStatus {
    return this.#status;
  }

  /** Tells the listeners if anything is different. */
  set(connected: boolean, faults: string[]): void {
    const before = this.#status;
    const isSame = before.connected === connected && before.sinceMs !== null;
    if (isSame && before.faults.join() === faults.join()) return;
    const sinceMs = isSame ? before.sinceMs : this.#clock.nowMs();
    this.#status = { ...before, connected, sinceMs, faults };
    for (const listener of this.#listeners) listener(this.#status);
  }

  onStatus(listener: (status: BusStatus) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }
}
