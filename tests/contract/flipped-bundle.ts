import { readStoredZip } from '@setwell/collector/export/stored-zip';
import { checkAuthentic, checkMembers } from '@setwell/collector/verify/authentic';
import { bundleOf, readBundle, type Bundle } from '@setwell/collector/verify/bundle';
import { checkComplete, loadsOf } from '@setwell/collector/verify/complete';
import { Findings } from '@setwell/collector/verify/finding';
import { pressedLot } from '../fixtures/pressed-lot.ts';

const brought = { key: null, since: null, nowMs: Date.now() };

/**
 * Flips one bit of each byte of a share of a bundle, one at a time, and answers the places where nobody
 * noticed. Each is asked twice: by the archive's structure, and, for whoever packs it anew so that the
 * structure is right again, by digests, paths and signature.
 *
 * @param seed from 1 to `seeds`: the bytes at seed − 1, seed − 1 + seeds, …
 */
export function flipBytes(zip: Buffer, seed: number, seeds: number): number[] {
  const findings = new Findings();
  // Its members are views of the archive's own bytes.
  const bundle = readBundle(zip, findings);
  if (!bundle || findings.list.length > 0) throw new Error('no honest bundle to begin with');
  const unseen: number[] = [];
  const member = memberAt(zip, bundle);
  for (let at = seed - 1; at < zip.length; at += seeds) {
    zip[at]! ^= 1 << (at % 8);
    const read = readStoredZip(zip);
    const isOdd = 'fault' in read || !read.isCanonical;
    const name = member(at);
    if (!isOdd || (name !== null && !isSeen(bundle, name))) unseen.push(at);
    zip[at]! ^= 1 << (at % 8);
  }
  return unseen;
}

/** Which member a byte of the archive belongs to; null: it is the archive's own. */
function memberAt(zip: Buffer, { members }: Bundle): (at: number) => string | null {
  const spans = [...members].map(([name, { byteOffset, length }]) => {
    const from = byteOffset - zip.byteOffset;
    return { name, from, to: from + length };
  });
  return (at) => spans.find(({ from, to }) => at >= from && at < to)?.name ?? null;
}

/** Digests tell of every member but the proof, which nothing but its own contents can. */
function isSeen(honest: Bundle, name: string): boolean {
  const findings = new Findings();
  if (name !== 'proof.json') {
    checkMembers(honest, findings);
    return findings.list.length > 0;
  }
  const bundle = bundleOf(honest.members, findings);
  if (!bundle || findings.list.length > 0) return true;
  const { checkpoint } = checkAuthentic(bundle, brought, findings);
  if (findings.list.length === 0) {
    checkComplete(bundle, loadsOf(bundle, findings), checkpoint, findings);
  }
  return findings.list.length > 0;
}

let honest: Promise<Buffer> | null = null;

/** Parts into which the long run divides the bytes of the smallest honest bundle. */
export const flippedShares = 1000;

/** One share of the bytes. @throws Error naming the bytes nobody noticed */
export async function flipShareOfBundle(seed: number): Promise<void> {
  honest ??= smallestBundle();
  const unseen = flipBytes(Buffer.from(await honest), seed, flippedShares);
  if (unseen.length > 0) throw new Error(`flips at ${unseen.join(', ')} were not seen`);
}

async function smallestBundle(): Promise<Buffer> {
  const pressed = await pressedLot();
  const zip = await pressed.bundle();
  await pressed.end();
  return zip;
}
