import type { Collected, Part } from '../part.ts';

/** Puts each checkpoint outside at once, retained: who holds one knows when the log behind it was changed. */
export class CheckpointPost implements Part {
  readonly #collected: Collected;
  readonly #leave: () => void;

  constructor(collected: Collected) {
    this.#collected = collected;
    this.#leave = collected.ledger.onCheckpoint(({ note }) => this.#post(note));
  }

  connected(): void {
    const last = this.#collected.ledger.checkpoint();
    if (last) this.#post(last.note);
  }

  stop(): void {
    this.#leave();
  }

  #post(note: string): void {
    this.#collected.publish(`setwell/${this.#collected.name}/checkpoint`, note);
  }
}
