import { readFileSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import type { Collected, Part } from '../part.ts';

/** Whoever answers later than that has not heard it [ms]. */
const answerWithinMs = 10_000;
/** A judge that hangs so long is no longer well [ms of wall time]. */
const wellWithinMs = 60_000;

/**
 * Tells an address outside that all is well, while it is: where nothing comes, somebody is called there.
 * Who watches the watcher must not live on the same machine.
 */
export class Heartbeat implements Part {
  readonly #collected: Collected;
  readonly #stop = new AbortController();
  #cancel: (() => void) | null = null;
  #isFailing = false;

  constructor(collected: Collected) {
    this.#collected = collected;
  }

  start(): void {
    const { heartbeat } = this.#collected.plant;
    if (heartbeat) this.#beat(heartbeat);
  }

  stop(): void {
    this.#cancel?.();
    this.#stop.abort();
  }

  #beat(heartbeat: { urlFile: string; everyS: number }): void {
    const { clock, clockSetting } = this.#collected;
    const again = () => this.#beat(heartbeat);
    this.#cancel = clock.after(heartbeat.everyS * 1000 * clockSetting.rate, again);
    if (this.#isWell()) void this.#tell(heartbeat.urlFile);
  }

  #isWell(): boolean {
    const { bus, behindMs, clockSetting } = this.#collected;
    return bus().connected && behindMs() < wellWithinMs * clockSetting.rate;
  }

  async #tell(urlFile: string): Promise<void> {
    const { plantFile, log } = this.#collected;
    try {
      const url = readFileSync(resolve(dirname(plantFile), urlFile), 'utf8').trim();
      const signal = AbortSignal.any([this.#stop.signal, AbortSignal.timeout(answerWithinMs)]);
      const response = await fetch(url, { method: 'POST', redirect: 'manual', signal });
      await response.body?.cancel();
      if (!response.ok) throw new Error(`status ${response.status}`);
      this.#isFailing = false;
    } catch (error) {
      if (this.#isFailing || this.#stop.signal.aborted) return;
      this.#isFailing = true;
      // The address lets anybody say that we are well: it is not repeated.
      const because = error instanceof Error ? error.message : String(error);
      log(`heartbeat: not heard (${because.replaceAll(/https?:\S+/g, '…')}); trying again`);
    }
  }
}
