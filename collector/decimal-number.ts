const plain = /^[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?$/i;

/** A decimal number with a point, perhaps with an exponent; null for anything else, so for hex and "". */
export function decimalNumber(written: string): number | null {
  const value = plain.test(written) ? Number(written) : NaN;
  return Number.isFinite(value) ? value : null;
}

/** The same number with a point, where it was written with a comma; null where it was not. */
export function withPoint(written: string): string | null {
  return /^[+-]?\d+,\d+$/.test(written) ? written.replace(',', '.') : null;
}
