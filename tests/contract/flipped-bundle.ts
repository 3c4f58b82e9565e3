import { checkAuthentic } from '@setwell/collector/verify/authentic';
import { readBundle } from '@setwell/collector/verify/bundle';
import { checkComplete, loadsOf } from '@setwell/collector/verify/complete';
import { Findings } from '@setwell/collector/verify/finding';
import { pressedLot } from '../fixtures/pressed-lot.ts';

/**
 * Flips one bit of each byte of a share of a bundle, one at a time, and answers the places where nobody
 * noticed: by structure, digests and signature alone.
 *
 * @param seed from 1 to `seeds`: the bytes at seed − 1, seed − 1 + seeds, …
 */
export function flipBytes(zip: Buffer, seed: number, seeds: number): number[] {
  const unseen: number[] = [];
  const brought = { key: null, since: null, nowMs: Date.now() };
  for (let at = seed - 1; at < zip.length; at += seeds) {
    zip[at]! ^= 1 << (at % 8);
    const findings = new Findings();
    const bundle = readBundle(zip, findings);
    if (bundle && findings.list.length === 0) {
      const { checkpoint } = checkAuthentic(bundle, brought, findings);
      if (findings.list.length === 0) {
        checkComplete(bundle, loadsOf(bundle, findings), checkpoint, findings);
      }
    }
    if (findings.list.length === 0) unseen.push(at);
    zip[at]! ^= 1 << (at % 8);
  }
  return unseen;
}

let honest: Promise<Buffer> | null = null;

/** One of 1,000 shares of the bytes of the smallest honest bundle. @throws Error naming the bytes nobody noticed */
export async function flipShareOfBundle(seed: number): Promise<void> {
  honest ??= smallestBundle();
  const unseen = flipBytes(Buffer.from(await honest), seed, 1000);
  if (unseen.length > 0) throw new Error(`flips at ${unseen.join(', ')} were not seen`);
}

async function smallestBundle(): Promise<Buffer> {
  const pressed = await pressedLot();
  const zip = await pressed.bundle();
  await pressed.end();
  return zip;
}
