import type { LoadCorrected, LoadOpened } from './bodies.ts';
import { correctedOpening } from './corrections.ts';
import type { Entry } from './entry.ts';

/** Beginnings of loads as they count: a fold of their starts and of what people have put right since. */
export class Openings {
  readonly #loads = new Map<string, LoadOpened>();
  readonly #counted: LoadOpened[] = [];

  take({ kind, about, body }: Entry): void {
    const load = about.load ?? '';
    if (kind === 'load-opened') this.#put(load, body as LoadOpened);
    if (kind !== 'load-corrected') return;
    const { change } = body as LoadCorrected;
    const opened = this.#loads.get(load);
    if (!opened) return;
    if (change.what === 'void') this.#loads.delete(load);
    else this.#put(load, correctedOpening(opened, change));
  }

  /** As it counts by now; undefined for a load whose start was taken back. */
  get(load: string): LoadOpened | undefined {
    return this.#loads.get(load);
  }

  /** Every beginning that counted at any time. */
  counted(): readonly LoadOpened[] {
    return this.#counted;
  }

  #put(load: string, opened: LoadOpened): void {
    this.#loads.set(load, opened);
    this.#counted.push(opened);
  }
}
