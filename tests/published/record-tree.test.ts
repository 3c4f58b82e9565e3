import { createHash, generateKeyPairSync, createPrivateKey, sign } from 'node:crypto';
import { describe, expect, it, test } from 'vitest';
import { checkpointText, parseCheckpointText } from '@setwell/shared-models/record/checkpoint';
import {
  consistencyPath,
  finishedBy,
  inclusionPath,
  isConsistent,
  leafHash,
  nodeHash,
  rootHash,
  rootOfInclusion,
  type CompleteNodes,
} from '@setwell/shared-models/record/tree';
import {
  isSignedBy,
  parseNote,
  parseVerifierKey,
  verifierKey,
} from '@setwell/collector/ledger/signed-note';

function sha256(...parts: Uint8Array[]): Buffer {
  const hash = createHash('sha256');
  for (const part of parts) hash.update(part);
  return hash.digest();
}

const hex = (bytes: Uint8Array) => Buffer.from(bytes).toString('hex');

/** The stored form: leaves, and complete subtrees as they are finished. */
function treeOf(leaves: Buffer[]): CompleteNodes {
  const stored = new Map<string, Uint8Array>();
  const nodes: CompleteNodes = (level, i) => {
    const hash = stored.get(`${level}/${i}`);
    if (!hash) throw new RangeError(`no node ${level}/${i}`);
    return hash;
  };
  leaves.forEach((bytes, n) => {
    const leaf = leafHash(sha256, bytes);
    stored.set(`0/${n}`, leaf);
    for (const { level, i, hash } of finishedBy(sha256, nodes, n, leaf)) {
      stored.set(`${level}/${i}`, hash);
    }
  });
  // One row an entry at most: the subtrees above the leaves are fewer than the leaves.
  expect(stored.size).toBeLessThan(2 * Math.max(1, leaves.length));
  return nodes;
}

describe('the published tree', () => {
  // Test vectors of the reference implementation of RFC 6962 (certificate-transparency,
  // merkle_tree_test): eight leaves, hex.
  const leaves = ['', '00', '10', '2021', '3031', '40414243', '5051525354555657']
    .concat('606162636465666768696a6b6c6d6e6f')
    .map((text) => Buffer.from(text, 'hex'));
  const nodes = treeOf(leaves);

  it.each([
    [1, '6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d'],
    [4, 'd37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7'],
    [8, '5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328'],
  ])('root of %i leaves', (size, root) => {
    expect(hex(rootHash(sha256, nodes, size))).toBe(root);
  });

  it('inclusion of leaf 0 of 8', () => {
    expect(inclusionPath(sha256, nodes, 0, 8).map(hex)).toEqual([
      '96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7',
      '5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e',
      '6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4',
    ]);
  });
});

/** MTH, PATH and SUBPROOF as RFC 9162 writes them (2.1.1, 2.1.3.1, 2.1.4.1), over a list of leaves. */
const rfc = {
  split: (n: number) => 2 ** Math.ceil(Math.log2(n) - 1),
  mth(d: Buffer[]): Buffer {
    if (d.length === 0) return sha256();
    if (d.length === 1) return sha256(Buffer.of(0), d[0]!);
    const k = rfc.split(d.length);
    return sha256(Buffer.of(1), rfc.mth(d.slice(0, k)), rfc.mth(d.slice(k)));
  },
  path(m: number, d: Buffer[]): Buffer[] {
    if (d.length === 1) return [];
    const k = rfc.split(d.length);
    if (m < k) return [...rfc.path(m, d.slice(0, k)), rfc.mth(d.slice(k))];
    return [...rfc.path(m - k, d.slice(k)), rfc.mth(d.slice(0, k))];
  },
  subproof(m: number, d: Buffer[], b: boolean): Buffer[] {
    if (m === d.length) return b ? [] : [rfc.mth(d)];
    const k = rfc.split(d.length);
    if (m <= k) return [...rfc.subproof(m, d.slice(0, k), b), rfc.mth(d.slice(k))];
    return [...rfc.subproof(m - k, d.slice(k), false), rfc.mth(d.slice(0, k))];
  },
};

describe('proofs of all trees up to 64 leaves, against the definitions of RFC 9162', () => {
  const leaves = Array.from({ length: 64 }, (_, n) => Buffer.from(`entry ${n}`));
  const nodes = treeOf(leaves);
  const sizes = leaves.map((_, index) => index + 1);

  it('has the root of the definition', () => {
    expect(hex(rootHash(sha256, nodes, 0))).toBe(hex(rfc.mth([])));
    for (const size of sizes) {
      expect(hex(rootHash(sha256, nodes, size))).toBe(hex(rfc.mth(leaves.slice(0, size))));
    }
  });

  it('shows every leaf in every tree, and no other leaf, place or size', () => {
    for (const size of sizes) {
      const root = hex(rfc.mth(leaves.slice(0, size)));
      for (let n = 0; n < size; n++) {
        const path = inclusionPath(sha256, nodes, n, size);
        expect(path.map(hex)).toEqual(rfc.path(n, leaves.slice(0, size)).map(hex));
        const leaf = leafHash(sha256, leaves[n]!);
        const rootBy = (bytes: Uint8Array, at: number, of: number, by = path) => {
          const found = rootOfInclusion(sha256, bytes, at, of, by);
          return found === null ? null : hex(found);
        };
        expect(rootBy(leaf, n, size)).toBe(root);
        expect(rootBy(leafHash(sha256, Buffer.from('other')), n, size)).not.toBe(root);
        if (size > 1) expect(rootBy(leaf, (n + 1) % size, size)).not.toBe(root);
        expect(rootBy(leaf, n, size, [...path, leaf])).toBeNull();
        if (path.length > 0) expect(rootBy(leaf, n, size, path.slice(0, -1))).toBeNull();
        expect(rootBy(leaf, size, size)).toBeNull();
      }
    }
  });

  it('shows every tree as the beginning of every later one, and of no other', () => {
    const trees = sizes.map((size) => ({ size, root: rfc.mth(leaves.slice(0, size)) }));
    for (const second of trees) {
      for (const first of trees.slice(0, second.size)) {
        const path = consistencyPath(sha256, nodes, first.size, second.size);
        const defined = rfc.subproof(first.size, leaves.slice(0, second.size), true);
        expect(path.map(hex)).toEqual(defined.map(hex));
        expect(isConsistent(sha256, first, second, path)).toBe(true);
        const otherRoot = { ...first, root: sha256(first.root) };
        expect(isConsistent(sha256, otherRoot, second, path)).toBe(false);
        const otherEnd = { ...second, root: sha256(second.root) };
        expect(isConsistent(sha256, first, otherEnd, path)).toBe(false);
        expect(isConsistent(sha256, first, second, [...path, first.root])).toBe(false);
        if (path.length > 0) {
          expect(isConsistent(sha256, first, second, path.slice(0, -1))).toBe(false);
          const [start, ...rest] = path;
          expect(isConsistent(sha256, first, second, [sha256(start!), ...rest])).toBe(false);
        }
      }
    }
  });

  it('refuses what no tree has', () => {
    expect(() => inclusionPath(sha256, nodes, 5, 5)).toThrow(RangeError);
    expect(() => consistencyPath(sha256, nodes, 0, 5)).toThrow(RangeError);
    expect(() => consistencyPath(sha256, nodes, 6, 5)).toThrow(RangeError);
    const root = rootHash(sha256, nodes, 5);
    expect(isConsistent(sha256, { size: 0, root }, { size: 5, root }, [])).toBe(false);
    expect(isConsistent(sha256, { size: 6, root }, { size: 5, root }, [])).toBe(false);
    expect(hex(nodeHash(sha256, root, root))).toBe(hex(sha256(Buffer.of(1), root, root)));
  });
});

describe('signed notes', () => {
  // C2SP signed-note: the example of the specification and of golang.org/x/mod/sumdb/note.
  const vkey = 'example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k';
  const note =
    'This is an example message.\n\n' +
    '\u2014 example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=\n';

  it('takes the published note by the published key', () => {
    const key = parseVerifierKey(vkey);
    const parsed = parseNote(note);
    expect(parsed?.text).toBe('This is an example message.\n');
    expect(key && parsed && isSignedBy(parsed, key)).toBe(true);
    expect(verifierKey('example.com/foo', key!.publicKey).text).toBe(vkey);
  });

  it('refuses it without its last line feed, and with any other byte', () => {
    const key = parseVerifierKey(vkey)!;
    expect(parseNote(note.slice(0, -1))).toBeNull();
    const bytes = Buffer.from(note);
    for (let at = 0; at < bytes.length; at++) {
      const changed = Buffer.from(bytes);
      changed[at] = changed[at]! ^ 1;
      const parsed = parseNote(changed.toString('utf8'));
      expect(parsed !== null && isSignedBy(parsed, key)).toBe(false);
    }
  });

  it.each([
    ['an id that is not its own', vkey.replace('530d903a', '530d903b')],
    ['another algorithm', vkey.replace('+Aek', '+Bek')],
    ['a part too few', 'example.com/foo+530d903a'],
    ['a name with a space', vkey.replace('foo', 'f oo')],
    ['nothing', ''],
  ])('refuses a key with %s', (_what, text) => {
    expect(parseVerifierKey(text)).toBeNull();
  });

  it('signs as RFC 8032 has it: Ed25519, test 2', () => {
    const seed = '4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb';
    // DER of an Ed25519 private key before its seed: RFC 8410, 7.
    const der = Buffer.from(`302e020100300506032b657004220420${seed}`, 'hex');
    const key = createPrivateKey({ key: der, format: 'der', type: 'pkcs8' });
    expect(sign(null, Buffer.from('72', 'hex'), key).toString('hex')).toBe(
      '92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da' +
        '085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00',
    );
  });

  it('names a key by its own bytes', () => {
    const { publicKey } = generateKeyPairSync('ed25519');
    const raw = Buffer.from(publicKey.export({ format: 'jwk' }).x!, 'base64url');
    expect(parseVerifierKey(verifierKey('setwell/works/c1/1', raw).text)?.publicKey).toEqual(raw);
    expect(() => verifierKey('a b', raw)).toThrow(RangeError);
    expect(() => verifierKey('a', raw.subarray(1))).toThrow(RangeError);
  });
});

test('a checkpoint is three lines: origin, size, root', () => {
  const root = sha256().toString('base64');
  const checkpoint = { origin: 'setwell/works/c1/1', size: 4711, root };
  const text = `setwell/works/c1/1\n4711\n${root}\n`;
  expect(checkpointText(checkpoint)).toBe(text);
  expect(parseCheckpointText(text)).toEqual(checkpoint);
  for (const bad of [
    text.slice(0, -1),
    text.replace('4711', '04711'),
    text.replace('4711', '-1'),
    text.replace('=', ''),
    'setwell\n1\n',
    '',
  ]) {
    expect(parseCheckpointText(bad)).toBeNull();
  }
});
