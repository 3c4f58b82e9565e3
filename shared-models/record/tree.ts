/** SHA-256 of its parts, one after the other. An argument, so that the tree knows no platform. */
export type Sha256 = (...parts: Uint8Array[]) => Uint8Array;

/** The complete subtrees of an append-only tree: node (level, i) covers leaves i·2^level to (i + 1)·2^level − 1. */
export type CompleteNodes = (level: number, i: number) => Uint8Array;

const leafMark = Uint8Array.of(0);
const nodeMark = Uint8Array.of(1);

/** SHA-256(0x00 ‖ bytes). @source RFC 9162, 2.1.1 */
export function leafHash(sha256: Sha256, bytes: Uint8Array): Uint8Array {
  return sha256(leafMark, bytes);
}

/** SHA-256(0x01 ‖ left ‖ right). @source RFC 9162, 2.1.1 */
export function nodeHash(sha256: Sha256, left: Uint8Array, right: Uint8Array): Uint8Array {
  return sha256(nodeMark, left, right);
}

/**
 * The complete subtrees that leaf `n` finishes, smallest first; none for an even one. All leaves together
 * finish less than one each.
 */
export function finishedBy(
  sha256: Sha256,
  nodes: CompleteNodes,
  n: number,
  leaf: Uint8Array,
): { level: number; i: number; hash: Uint8Array }[] {
  const finished: { level: number; i: number; hash: Uint8Array }[] = [];
  let hash = leaf;
  let i = n;
  for (let level = 0; i % 2 === 1; level += 1) {
    hash = nodeHash(sha256, nodes(level, i - 1), hash);
    i = (i - 1) / 2;
    finished.push({ level: level + 1, i, hash });
  }
  return finished;
}

/** Root of the tree of the first `size` leaves. @source RFC 9162, 2.1.1 */
export function rootHash(sha256: Sha256, nodes: CompleteNodes, size: number): Uint8Array {
  return size === 0 ? sha256() : subtreeHash(sha256, nodes, 0, size);
}

/**
 * What leads from leaf `n` to the root of the tree of `size`, from the leaf's own level up.
 *
 * @throws RangeError for a leaf outside the tree
 * @source RFC 9162, 2.1.3.1
 */
export function inclusionPath(
  sha256: Sha256,
  nodes: CompleteNodes,
  n: number,
  size: number,
): Uint8Array[] {
  if (!(n >= 0 && n < size)) throw new RangeError(`leaf ${n} of a tree of ${size}`);
  const path: Uint8Array[] = [];
  let start = 0;
  let width = size;
  while (width > 1) {
    const left = splitOf(width);
    if (n < start + left) {
      path.push(subtreeHash(sha256, nodes, start + left, width - left));
      width = left;
    } else {
      path.push(subtreeHash(sha256, nodes, start, left));
      start += left;
      width -= left;
    }
  }
  return path.reverse();
}

/**
 * What shows that the tree of `earlier` is the beginning of the tree of `later`; empty where they are one.
 *
 * @throws RangeError unless 0 < earlier ≤ later
 * @source RFC 9162, 2.1.4.1
 */
export function consistencyPath(
  sha256: Sha256,
  nodes: CompleteNodes,
  earlier: number,
  later: number,
): Uint8Array[] {
  if (!(earlier > 0 && earlier <= later)) throw new RangeError(`${earlier} of ${later} leaves`);
  const path: Uint8Array[] = [];
  let start = 0;
  let width = later;
  let known = earlier;
  // The first tree's own root is not sent: whoever checks has it.
  let isWhole = true;
  while (known !== width) {
    const left = splitOf(width);
    if (known <= left) {
      path.push(subtreeHash(sha256, nodes, start + left, width - left));
      width = left;
    } else {
      path.push(subtreeHash(sha256, nodes, start, left));
      start += left;
      width -= left;
      known -= left;
      isWhole = false;
    }
  }
  if (!isWhole) path.push(subtreeHash(sha256, nodes, start, width));
  return path.reverse();
}

/**
 * The root that a leaf and its path lead to; null where the path cannot be one of that leaf in a tree of
 * that size.
 *
 * @source RFC 9162, 2.1.3.2
 */
export function rootOfInclusion(
  sha256: Sha256,
  leaf: Uint8Array,
  n: number,
  size: number,
  path: readonly Uint8Array[],
): Uint8Array | null {
  if (!(n >= 0 && n < size)) return null;
  let here = n;
  let last = size - 1;
  let hash = leaf;
  for (const other of path) {
    if (last === 0) return null;
    if (here % 2 === 1 || here === last) {
      hash = nodeHash(sha256, other, hash);
      while (here % 2 === 0 && here !== 0) {
        here = half(here);
        last = half(last);
      }
    } else {
      hash = nodeHash(sha256, hash, other);
    }
    here = half(here);
    last = half(last);
  }
  return last === 0 ? hash : null;
}

/**
 * Whether the path shows that the first tree is the beginning of the second.
 *
 * @source RFC 9162, 2.1.4.2
 */
export function isConsistent(
  sha256: Sha256,
  first: { size: number; root: Uint8Array },
  second: { size: number; root: Uint8Array },
  path: readonly Uint8Array[],
): boolean {
  if (!(first.size > 0 && first.size <= second.size)) return false;
  if (first.size === second.size) return path.length === 0 && isSame(first.root, second.root);
  const [start, ...rest] = isPowerOfTwo(first.size) ? [first.root, ...path] : path;
  if (path.length === 0 || start === undefined) return false;
  let here = first.size - 1;
  let last = second.size - 1;
  while (here % 2 === 1) {
    here = half(here);
    last = half(last);
  }
  let firstHash = start;
  let secondHash = start;
  for (const other of rest) {
    if (last === 0) return false;
    if (here % 2 === 1 || here === last) {
      firstHash = nodeHash(sha256, other, firstHash);
      secondHash = nodeHash(sha256, other, secondHash);
      while (here % 2 === 0 && here !== 0) {
        here = half(here);
        last = half(last);
      }
    } else {
      secondHash = nodeHash(sha256, secondHash, other);
    }
    here = half(here);
    last = half(last);
  }
  return last === 0 && isSame(firstHash, first.root) && isSame(secondHash, second.root);
}

export function isSame(a: Uint8Array, b: Uint8Array): boolean {
  return a.length === b.length && a.every((byte, index) => byte === b[index]);
}

/** Hash of the leaves from `start` on, `width` of them; a subtree's start is a multiple of its width. */
export function subtreeHash(
  sha256: Sha256,
  nodes: CompleteNodes,
  start: number,
  width: number,
): Uint8Array {
  let level = 0;
  let left = 1;
  while (left * 2 <= width) {
    left *= 2;
    level += 1;
  }
  const whole = nodes(level, start / left);
  if (left === width) return whole;
  return nodeHash(sha256, whole, subtreeHash(sha256, nodes, start + left, width - left));
}

/** The greatest power of two below `width`, which is at least 2. */
export function splitOf(width: number): number {
  let left = 1;
  while (left * 2 < width) left *= 2;
  return left;
}

function isPowerOfTwo(size: number): boolean {
  let power = 1;
  while (power < size) power *= 2;
  return power === size;
}

function half(value: number): number {
  return Math.floor(value / 2);
}
