import { createHash } from 'node:crypto';

/** SHA-256 of its parts, one after the other; of a text, its UTF-8. */
export function sha256(...parts: (Uint8Array | string)[]): Buffer {
  const hash = createHash('sha256');
  for (const part of parts) hash.update(part);
  return hash.digest();
}

export function sha256Hex(bytes: Uint8Array | string): string {
  return sha256(bytes).toString('hex');
}
