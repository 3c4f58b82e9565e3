/** The ledger's file is not what it must be, or its disk refused. Nothing was appended. */
export class LedgerError extends Error {
  readonly code: 'damaged' | 'wrong-version' | 'other-log' | 'disk';
  readonly retryable: boolean;

  constructor(code: LedgerError['code'], message: string, cause?: unknown) {
    super(message, { cause });
    this.name = 'LedgerError';
    this.code = code;
    this.retryable = code === 'disk';
  }
}
