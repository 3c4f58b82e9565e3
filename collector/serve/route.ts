import type { ServerResponse } from 'node:http';
import { Refused } from './refused.ts';

export interface Answer {
  status: number;
  type: string;
  /** In pieces, where it is larger than memory should hold. */
  body: string | Buffer | AsyncIterable<Buffer>;
}

/** One line of the interface: what is asked, and what is answered. */
export type Route = {
  method: 'GET' | 'POST';
  /** With `{name}` where a value stands. */
  path: string;
  /** Health: a supervisor asks without a token. */
  open?: boolean;
} & (
  | { answer(asked: Asked, body: unknown): Answer | Promise<Answer> }
  /** An answer that does not end. */
  | { follow(asked: Asked, response: ServerResponse): void }
);

/** Longest name of anything in the plant. */
const mostNameLength = 200;

/** The parameters of a request, each read within its limits. */
export class Asked {
  readonly #path: Map<string, string>;
  readonly #query: URLSearchParams;

  constructor(path: Map<string, string>, query: URLSearchParams) {
    this.#path = path;
    this.#query = query;
  }

  has(field: string): boolean {
    return this.#query.has(field);
  }

  /** @throws Refused where it is missing or longer than any name */
  name(field: string): string {
    const value = this.#path.get(field) ?? this.#query.get(field);
    if (value === null || value === '' || value.length > mostNameLength) {
      const found = value === null ? 'nothing' : `${String(value.length)} characters`;
      throw new Refused(422, 'bad-input', field, found, '1 to 200 characters');
    }
    return value;
  }

  /** Names with commas between them. @throws Refused where there are none, or too many */
  names(field: string, most: number): string[] {
    const names = (this.#query.get(field) ?? '').split(',').filter((name) => name !== '');
    const longest = Math.max(0, ...names.map(({ length }) => length));
    if (names.length > 0 && names.length <= most && longest <= mostNameLength) return names;
    const found = `${String(names.length)} names, the longest of ${String(longest)} characters`;
    throw new Refused(422, 'bad-input', field, found, `1 to ${String(most)} names`);
  }

  /** @throws Refused where it is none, or outside the limits */
  number(field: string, limits: { from: number; to: number }): number {
    const text = this.#query.get(field) ?? '';
    const value = text.trim() === '' ? NaN : Number(text);
    if (value >= limits.from && value <= limits.to) return value;
    const expected = `a number from ${String(limits.from)} to ${String(limits.to)}`;
    throw new Refused(422, 'bad-input', field, text.slice(0, 60), expected);
  }

  /** @throws Refused where it is no integer within the limits */
  integer(field: string, limits: { from: number; to: number; otherwise?: number }): number {
    const text = this.#query.get(field);
    if (text === null && limits.otherwise !== undefined) return limits.otherwise;
    const value = Number(text ?? NaN);
    if (!Number.isInteger(value) || value < limits.from || value > limits.to) {
      const expected = `an integer from ${String(limits.from)} to ${String(limits.to)}`;
      throw new Refused(422, 'bad-input', field, text ?? 'nothing', expected);
    }
    return value;
  }

  /** @throws Refused where it is none of the words */
  oneOf<Word extends string>(field: string, words: readonly Word[], otherwise: Word): Word {
    const text = this.#query.get(field);
    if (text === null) return otherwise;
    const word = words.find((each) => each === text);
    if (word === undefined) {
      throw new Refused(422, 'bad-input', field, text.slice(0, 60), words.join(', '));
    }
    return word;
  }
}
