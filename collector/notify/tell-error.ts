/** A message did not arrive; its words name no secret. */
export class TellError extends Error {
  /** False: the same again would fail again. */
  readonly retryable: boolean;

  constructor(message: string, retryable: boolean) {
    super(message);
    this.name = 'TellError';
    this.retryable = retryable;
  }
}
