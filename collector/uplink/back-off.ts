const firstMs = 1000;
/** A server that comes back is used within a minute. */
const mostMs = 60_000;
/** Asked for by a server; a mistaken answer must not stop us for a day. */
const mostAskedMs = 600_000;

/**
 * How long to wait after so many failures in a row [ms]: twice as long each time, and of that a
 * random part, so that collectors do not come back all at once.
 *
 * @param failures ≥ 1
 * @param random in [0, 1)
 * @param askedS what the server asked for; null where it did not
 */
export function backOffMs(failures: number, random: number, askedS: number | null): number {
  const fullMs = Math.min(mostMs, firstMs * 2 ** Math.min(failures - 1, 10));
  const askedMs = Math.min(mostAskedMs, (askedS ?? 0) * 1000);
  return Math.max(askedMs, fullMs * (0.5 + 0.5 * random));
}
