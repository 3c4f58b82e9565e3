import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { inflateSync } from 'node:zlib';

const files = createRequire(import.meta.url);
const unpacked = new Map<400 | 700, Buffer>();

/**
 * The shipped typeface as it lies in a document. It comes packed table by table, and a reader that asks a
 * packed table for each glyph unpacks it each time.
 */
export function typeface(weight: 400 | 700): Buffer {
  const known = unpacked.get(weight);
  if (known) return known;
  const name = `atkinson-hyperlegible-next-latin-${String(weight)}-normal.woff`;
  const path = files.resolve(`@fontsource/atkinson-hyperlegible-next/files/${name}`);
  const bytes = unpackedFont(readFileSync(path));
  unpacked.set(weight, bytes);
  return bytes;
}

const headerBytes = 12;
const rowBytes = 16;
const packedHeaderBytes = 44;
const packedRowBytes = 20;

/**
 * A font of tables, from its packed form.
 *
 * @source W3C Recommendation WOFF File Format 1.0, 3 to 5
 */
export function unpackedFont(packed: Buffer): Buffer {
  const count = packed.readUInt16BE(12);
  const directory = Buffer.alloc(headerBytes + rowBytes * count);
  packed.copy(directory, 0, 4, 8);
  directory.writeUInt16BE(count, 4);
  // For a binary search through the rows: the greatest power of two in their count, its logarithm, the rest.
  const power = Math.floor(Math.log2(count));
  directory.writeUInt16BE(rowBytes * 2 ** power, 6);
  directory.writeUInt16BE(power, 8);
  directory.writeUInt16BE(rowBytes * (count - 2 ** power), 10);
  const pieces: Buffer[] = [directory];
  let offset = directory.length;
  for (let index = 0; index < count; index += 1) {
    const from = packedHeaderBytes + packedRowBytes * index;
    const at = packed.readUInt32BE(from + 4);
    const packedLength = packed.readUInt32BE(from + 8);
    const length = packed.readUInt32BE(from + 12);
    const stored = packed.subarray(at, at + packedLength);
    const table = packedLength < length ? inflateSync(stored) : stored;
    const row = headerBytes + rowBytes * index;
    packed.copy(directory, row, from, from + 4);
    packed.copy(directory, row + 4, from + 16, from + 20);
    directory.writeUInt32BE(offset, row + 8);
    directory.writeUInt32BE(length, row + 12);
    const padding = Buffer.alloc(-length & 3);
    pieces.push(table, padding);
    offset += length + padding.length;
  }
  return Buffer.concat(pieces);
}
