/** A random UUID; `crypto.randomUUID` is missing on plain HTTP from another machine. */
export function randomId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x40;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
  return [8, 12, 16, 20, 32]
    .map((end, i, ends) => hex.slice(i === 0 ? 0 : ends[i - 1], end))
    .join('-');
}
