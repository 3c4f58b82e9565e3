import { nodeHash, splitOf, subtreeHash, type CompleteNodes, type Sha256 } from './tree.ts';

/** Entries of a log that are shown: [from, to) each, in order, none touching the next. */
export type Shown = readonly (readonly [from: number, to: number])[];

/** The same entries as the fewest ranges. */
export function joined(ranges: Shown): [from: number, to: number][] {
  const whole: [number, number][] = [];
  for (const [from, to] of [...ranges].sort((a, b) => a[0] - b[0])) {
    const last = whole.at(-1);
    if (last && from <= last[1]) last[1] = Math.max(last[1], to);
    else whole.push([from, to]);
  }
  return whole;
}

/**
 * What the root of a tree hangs on beside the leaves that are shown: the hash of each greatest subtree
 * without one, from left to right. A whole range needs no more of them than a single leaf's path, twice.
 */
export function hiddenHashes(
  sha256: Sha256,
  nodes: CompleteNodes,
  shown: Shown,
  size: number,
): Uint8Array[] {
  const hidden: Uint8Array[] = [];
  const walk = (start: number, width: number): void => {
    if (!isShown(shown, start, width)) {
      hidden.push(subtreeHash(sha256, nodes, start, width));
    } else if (width > 1) {
      const left = splitOf(width);
      walk(start, left);
      walk(start + left, width - left);
    }
  };
  walk(0, size);
  return hidden;
}

/**
 * The root that shown leaves and hidden hashes lead to, each used once and in order; null where there are
 * too few or too many of either.
 *
 * @param leaves hashes of the leaves that are shown
 * @source RFC 9162, 2.1.1: the tree's own definition, with subtrees in place of what is not shown
 */
export function rootOfShown(
  sha256: Sha256,
  shown: Shown,
  size: number,
  leaves: Iterable<Uint8Array>,
  hidden: Iterable<Uint8Array>,
): Uint8Array | null {
  const leaf = leaves[Symbol.iterator]();
  const node = hidden[Symbol.iterator]();
  let isShort = false;
  const hashOf = (start: number, width: number): Uint8Array => {
    // A forged size has more subtrees than any machine could go through.
    if (isShort) return nothing;
    const isOpen = isShown(shown, start, width);
    if (isOpen && width > 1) {
      const left = splitOf(width);
      const before = hashOf(start, left);
      return nodeHash(sha256, before, hashOf(start + left, width - left));
    }
    const next = (isOpen ? leaf : node).next();
    if (next.done === true) isShort = true;
    return next.done === true ? nothing : next.value;
  };
  const root = hashOf(0, size);
  return isShort || leaf.next().done !== true || node.next().done !== true ? null : root;
}

const nothing = new Uint8Array(0);

function isShown(shown: Shown, start: number, width: number): boolean {
  return shown.some(([from, to]) => from < start + width && start < to);
}
