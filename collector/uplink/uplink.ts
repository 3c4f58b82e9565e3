import { readFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import type { Registry } from 'prom-client';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { InfluxAddress } from '@setwell/shared-models/plant/plant-schema';
import type { Clock } from '../clock.ts';
import type { JournalReader } from '../journal/shape.ts';
import { backOffMs } from './back-off.ts';
import { Delivery, mostLinesInRequest } from './delivery.ts';
import type { ReadSecret } from './influx-address.ts';
import { InfluxHistory } from './influx-history.ts';
import { influxLine } from './influx-line.ts';
import { InfluxTarget } from './influx-target.ts';
import { UplinkMetrics } from './uplink-metrics.ts';
import { UplinkStore } from './uplink-store.ts';

export interface UplinkSetting {
  /** What is sent, and where it is counted. */
  collected: { plant: Plant; journal: JournalReader; metrics: { registry: Registry } };
  /** Secrets stand in files named from its folder. */
  plantFile: string;
  /** `uplink.db` is kept there; this process alone writes it. */
  dataDir: string;
  clock: Clock;
  /** Servers and networks live by the wall, however fast the plant's time goes. */
  clockSetting: { rate: number };
  /** In [0, 1). */
  random: () => number;
  log?: (line: string) => void;
}

export interface UplinkState {
  target: string;
  /** Everything up to this batch has arrived. */
  seq: number;
  lag: { batches: number; seconds: number };
  /** Why nothing arrives now; null while all is well. */
  fault: string | null;
}

interface Shipment {
  untilSeq: number;
  lines: number;
  delivery: Delivery;
}

/** New readings are looked for so often; at most that much is live behind [ms of wall time]. */
const lookEveryMs = 1000;
/** A server that takes 5,000 lines answers in less; one that hangs is given up [ms of wall time]. */
const answerWithinMs = 30_000;
/** Decoded and encoded at a stretch, in some 20 ms, before intake has its turn: at most 4,000 readings. */
const batchesAtOnce = 4;
/** Batches without readings cost no line, but they cost time. */
const mostBatchesInShipment = 10_000;

/** Starts where the plant's file names a long history. */
export function startUplink(setting: UplinkSetting): Uplink | null {
  const { uplink } = setting.collected.plant;
  return uplink ? new Uplink(uplink.influx, setting) : null;
}

/** Where readings can be read back from that the journal has let go; null where the plant names none. */
export function historyOf({ uplink, site }: Plant, plantFile: string): InfluxHistory | null {
  return uplink ? new InfluxHistory(uplink.influx, site.id, secretsBeside(plantFile)) : null;
}

function secretsBeside(plantFile: string): ReadSecret {
  return (file) => readFileSync(resolve(dirname(plantFile), file), 'utf8').trim();
}

/**
 * Carries the journal's readings to where they are kept for the long run. It is a cursor on the
 * journal: away for however long, it goes on where it was, oldest first, one request at a time.
 */
export class Uplink {
  readonly #setting: UplinkSetting;
  readonly #target: InfluxTarget;
  readonly #metrics: UplinkMetrics;
  #store: UplinkStore | null = null;
  #seq = 0;
  #shipment: Shipment | null = null;
  #failures = 0;
  #fault: string | null = null;
  readonly #stop = new AbortController();
  readonly #running: Promise<void>;

  constructor(influx: InfluxAddress, setting: UplinkSetting) {
    this.#setting = setting;
    this.#target = new InfluxTarget(influx, secretsBeside(setting.plantFile));
    this.#metrics = new UplinkMetrics(setting.collected.metrics.registry, () => this.#lag());
    this.#running = this.#run();
  }

  /** Breaks off what is on its way: it will be sent again. */
  async stop(): Promise<void> {
    this.#stop.abort();
    await this.#running;
    this.#store?.close();
    this.#store = null;
  }

  state(): UplinkState {
    return { target: this.#target.name, seq: this.#seq, lag: this.#lag(), fault: this.#fault };
  }

  async #run(): Promise<void> {
    while (!this.#stop.signal.aborted) {
      const waitMs = await this.#turn();
      if (waitMs > 0) await this.#wait(waitMs);
    }
  }

  /** One shipment, or one try at it. @returns how long to wait then [ms of wall time] */
  async #turn(): Promise<number> {
    try {
      this.#shipment ??= await this.#gather(this.#opened());
      if (this.#shipment === null) return lookEveryMs;
      const answer = await this.#shipment.delivery.send((lines) => this.#write(lines));
      if (answer.kind === 'away') return this.#failed(answer.says, answer.retryAfterS);
      this.#arrived(this.#shipment);
      this.#shipment = null;
      return 0;
    } catch (error) {
      // A full disk, a damaged journal: a lagging uplink, which must not stop intake.
      return this.#failed(error instanceof Error ? error.message : String(error), null);
    }
  }

  #opened(): UplinkStore {
    if (this.#store) return this.#store;
    this.#store = new UplinkStore(join(this.#setting.dataDir, 'uplink.db'));
    this.#seq = this.#store.seq(this.#target.name);
    return this.#store;
  }

  async #gather(store: UplinkStore): Promise<Shipment | null> {
    const { collected, clock } = this.#setting;
    const { journal, plant } = collected;
    const head = journal.head();
    if (this.#seq > head) {
      // Another journal than the one it counted in.
      this.#seq = 0;
      store.save(this.#target.name, 0, [], clock.nowMs());
    }
    const lines: string[] = [];
    let untilSeq = this.#seq;
    for (let taken = 0; taken < mostBatchesInShipment; taken += batchesAtOnce) {
      const batches = journal.batchesAfter(untilSeq, batchesAtOnce);
      for (const { seq, readings } of batches) {
        for (const reading of readings) lines.push(influxLine(reading, plant));
        untilSeq = seq;
      }
      const isEnough = lines.length >= mostLinesInRequest || batches.length < batchesAtOnce;
      if (isEnough || this.#stop.signal.aborted) break;
      await setImmediate();
    }
    if (untilSeq === this.#seq) return null;
    return { untilSeq, lines: lines.length, delivery: new Delivery(lines) };
  }

  async #write(lines: string[]) {
    const { clock, clockSetting } = this.#setting;
    const request = new AbortController();
    const giveUp = () => request.abort(new Error(`no answer within ${answerWithinMs / 1000} s`));
    const cancel = clock.after(answerWithinMs * clockSetting.rate, giveUp);
    const { signal } = this.#stop;
    const breakOff = () => request.abort(signal.reason);
    signal.addEventListener('abort', breakOff, { once: true });
    if (signal.aborted) breakOff();
    try {
      return await this.#target.write(lines, request.signal);
    } finally {
      cancel();
      signal.removeEventListener('abort', breakOff);
    }
  }

  #arrived({ untilSeq, lines, delivery: { refused } }: Shipment): void {
    const { clock, log } = this.#setting;
    this.#opened().save(this.#target.name, untilSeq, refused, clock.nowMs());
    this.#seq = untilSeq;
    this.#metrics.lines.inc(lines - refused.length);
    this.#metrics.refused.inc(refused.length);
    const [first] = refused;
    if (first) log?.(`uplink: ${refused.length} lines refused, the first: ${first.says}`);
    if (this.#fault !== null) log?.(`uplink: ${this.#target.name} takes readings again`);
    this.#fault = null;
    this.#failures = 0;
  }

  #failed(says: string, askedS: number | null): number {
    if (this.#stop.signal.aborted) return 0;
    const { log, random } = this.#setting;
    if (this.#fault === null) log?.(`uplink: ${this.#target.name}: ${says}; trying again`);
    this.#fault = says;
    this.#failures += 1;
    return backOffMs(this.#failures, random(), askedS);
  }

  #wait(wallMs: number): Promise<void> {
    const { clock, clockSetting } = this.#setting;
    const { signal } = this.#stop;
    return new Promise((resolve) => {
      const go = () => {
        cancel();
        signal.removeEventListener('abort', go);
        resolve();
      };
      const cancel = clock.after(wallMs * clockSetting.rate, go);
      signal.addEventListener('abort', go, { once: true });
      if (signal.aborted) go();
    });
  }

  #lag(): { batches: number; seconds: number } {
    const { clock, collected } = this.#setting;
    const { journal } = collected;
    const batches = Math.max(0, journal.head() - this.#seq);
    const [oldest] = batches > 0 ? journal.batchesAfter(this.#seq, 1) : [];
    const seconds = oldest ? Math.max(0, clock.nowMs() - oldest.receivedMs) / 1000 : 0;
    return { batches, seconds };
  }
}
