import type { Answer } from './influx-target.ts';

export interface Refused {
  line: string;
  /** The server's words. */
  says: string;
}

/** Above it a request costs the server more than it saves. */
export const mostLinesInRequest = 5000;

/**
 * Lines on their way. A request that is refused is halved until the lines at fault are alone; all
 * others arrive. Where the server goes away in between, what has been found out stays known.
 */
export class Delivery {
  readonly refused: Refused[] = [];
  /** What is still to be sent; the next last. */
  readonly #pending: string[][] = [];

  constructor(lines: readonly string[]) {
    for (let from = 0; from < lines.length; from += mostLinesInRequest) {
      this.#pending.unshift(lines.slice(from, from + mostLinesInRequest));
    }
  }

  /** Sends until all is taken or refused, or the server is away. */
  async send(
    write: (lines: string[]) => Promise<Answer>,
  ): Promise<Exclude<Answer, { kind: 'refused' }>> {
    for (let lines = this.#pending.at(-1); lines; lines = this.#pending.at(-1)) {
      const answer = await write(lines);
      if (answer.kind === 'away') return answer;
      this.#pending.pop();
      if (answer.kind === 'refused') this.#divide(lines, answer);
    }
    return { kind: 'taken' };
  }

  #divide(lines: string[], { says, whole }: { says: string; whole: boolean }): void {
    if (whole || lines.length === 1) {
      for (const line of lines) this.refused.push({ line, says });
      return;
    }
    const middle = Math.ceil(lines.length / 2);
    this.#pending.push(lines.slice(middle), lines.slice(0, middle));
  }
}
