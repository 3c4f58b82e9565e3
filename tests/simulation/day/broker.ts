import type { Bus, BusStatus } from '@setwell/collector/intake/bus';
import type { BusParts } from '@setwell/collector/intake/plant-bus';
import { JournalError } from '@setwell/collector/journal/journal-error';
import type { Chance } from './chance.ts';
import type { Message } from './plant.ts';

/** What the broker has for the collector: kept until it is acknowledged, and sent again after a cut. */
export class SimulatedBroker {
  /** In the order in which the broker took them. */
  queue: Message[] = [];
  /** Acknowledged by the collector. */
  readonly acknowledged: Message[] = [];
  /** Forgotten by the broker itself, with its session. */
  lost = 0;
  hasSession = true;

  take(message: Message): void {
    this.queue.push(message);
  }

  acknowledge(messages: readonly Message[]): void {
    const gone = new Set(messages);
    this.queue = this.queue.filter((message) => !gone.has(message));
    this.acknowledged.push(...messages);
  }

  /** It restarts and has lost what it kept for the collector. */
  forget(): void {
    this.lost += this.queue.length;
    this.queue = [];
    this.hasSession = false;
  }
}

/** Messages of one commit, at most: the broker's window. */
const window = 40;

/** The connection between broker and collector, with the order of the real one: store, then acknowledge. */
export class SimulatedBus implements Bus {
  readonly #broker: SimulatedBroker;
  readonly #parts: BusParts;
  readonly #chance: Chance;
  readonly #listeners = new Set<(status: BusStatus) => void>();
  #isConnected = false;

  constructor(broker: SimulatedBroker, parts: BusParts, chance: Chance) {
    this.#broker = broker;
    this.#parts = parts;
    this.#chance = chance;
  }

  connect(): void {
    if (this.#isConnected) return;
    if (!this.#broker.hasSession && this.#parts.expectsSession) this.#parts.onSessionLost();
    this.#broker.hasSession = true;
    this.#set(true);
  }

  cut(): void {
    this.#set(false);
  }

  /** Hands over one window; what it does not acknowledge comes again. @param between at each step of it */
  deliver(between: () => void): void {
    if (!this.#isConnected) return;
    const messages = this.#broker.queue.slice(0, 1 + this.#chance.below(window));
    if (messages.length === 0) return;
    const arrivals = messages.map(({ topic, payload }) => ({
      ...{ topic, payload: Buffer.from(payload) },
      ...{ retained: false, queued: false, act: null },
    }));
    between();
    try {
      this.#parts.intake.accept(arrivals);
    } catch (error) {
      if (!(error instanceof JournalError)) throw error;
      this.cut();
      return;
    }
    between();
    // The acknowledgement may be lost with the connection: then all of it comes twice.
    if (this.#chance.happens(0.05)) this.cut();
    else this.#broker.acknowledge(messages);
    between();
  }

  publish(): void {}

  status(): BusStatus {
    return { connected: this.#isConnected, sinceMs: 0, url: 'sim', faults: [] };
  }

  onStatus(listener: (status: BusStatus) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  close(): Promise<void> {
    this.#isConnected = false;
    return Promise.resolve();
  }

  #set(connected: boolean): void {
    if (this.#isConnected === connected) return;
    this.#isConnected = connected;
    for (const listener of this.#listeners) listener(this.status());
  }
}
