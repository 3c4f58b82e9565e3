/** A request that is refused: which field, what stood there, what was expected. */
export class Refused extends Error {
  readonly status: number;
  readonly code: string;
  readonly field: string;
  readonly found: string;
  readonly expected: string;

  constructor(status: number, code: string, field: string, found: string, expected: string) {
    super(`${field}: found ${found}; expected ${expected}`);
    this.status = status;
    this.code = code;
    this.field = field;
    this.found = found;
    this.expected = expected;
  }
}

/** What is asked for is not known here. */
export function unknown(field: string, found: string, expected: string): Refused {
  return new Refused(404, 'not-found', field, found.slice(0, 80), expected);
}
