import type { Collected, Part } from '../part.ts';
import { unknown } from '../serve/refused.ts';
import type { Route } from '../serve/route.ts';
import { json } from '../serve/server.ts';

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

  routes(): Route[] {
    return [
      {
        method: 'GET',
        path: '/checkpoint',
        answer: () => {
          const last = this.#collected.ledger.checkpoint();
          if (!last) throw unknown('checkpoint', 'none', 'a log with a key');
          return json(last);
        },
      },
    ];
  }

  stop(): void {
    this.#leave();
  }

  #post(note: string): void {
    this.#collected.publish(`setwell/${this.#collected.name}/checkpoint`, note);
  }
}
