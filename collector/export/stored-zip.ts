/** One file of an archive. */
export interface ZipMember {
  name: string;
  bytes: Buffer;
}

/** Members of a lot's archive, which is read whole: no lot has more. */
export const mostMembers = 65_000;
/** From here on a number needs the format's 64-bit form. */
const most32 = 0xffff_ffff;
const most16 = 0xffff;

const localMark = 0x04034b50;
const centralMark = 0x02014b50;
const endMark = 0x06054b50;
const longEndMark = 0x06064b50;
const longEndAtMark = 0x07064b50;
/** Names are UTF-8. */
const flags = 0x0800;
const centralHeaderBytes = 46;
const longOffsetBytes = 12;
const versionNeeded = 20;
const versionNeededLong = 45;
/** 1 January 1980, 00:00: the format's first moment, for a file of no time of its own. */
const fixedDate = 0x0021;

/**
 * The one archive that a list of members has: stored, in their order, at a fixed time. Whoever packs the
 * same members gets the same bytes. Memory holds one member at a time.
 *
 * @source PKWARE APPNOTE 6.3.10, 4.3 and 4.5.3
 */
export class StoredZip {
  readonly #central: Buffer[] = [];
  #offset = 0;

  /** @throws RangeError for a member of 4 GB or more */
  add({ name, bytes }: ZipMember): [header: Buffer, bytes: Buffer] {
    if (bytes.length >= most32) {
      throw new RangeError(`${name}: ${String(bytes.length)} bytes; at most ${String(most32 - 1)}`);
    }
    const nameBytes = Buffer.from(name, 'utf8');
    const crc = crc32(bytes);
    const header = localHeader(nameBytes, bytes.length, crc);
    this.#central.push(centralHeader(nameBytes, bytes.length, crc, this.#offset));
    this.#offset += header.length + bytes.length;
    return [header, bytes];
  }

  /** What follows the last member. */
  end(): Buffer {
    const directory = Buffer.concat(this.#central);
    return Buffer.concat([
      directory,
      ...endRecords(this.#central.length, directory.length, this.#offset),
    ]);
  }
}

/** The archive of members that are all there. */
export function* storedZip(members: Iterable<ZipMember>): Generator<Buffer> {
  const zip = new StoredZip();
  for (const member of members) yield* zip.add(member);
  yield zip.end();
}

/** The archive of members that come one after the other. */
export async function* storedZipOf(members: AsyncIterable<ZipMember>): AsyncGenerator<Buffer> {
  const zip = new StoredZip();
  for await (const member of members) yield* zip.add(member);
  yield zip.end();
}

/**
 * Reads what {@link storedZip} writes, and nothing else: each member from its own header, in order. As
 * nothing is compressed, a member is no longer than its bytes in the file.
 *
 * @returns the members, and whether their one archive is these bytes; or where it stops being an archive
 */
export function readStoredZip(
  zip: Buffer,
): { members: ZipMember[]; isCanonical: boolean } | { fault: string } {
  const members: ZipMember[] = [];
  let at = 0;
  while (at + 4 <= zip.length && zip.readUInt32LE(at) === localMark) {
    if (at + 30 > zip.length) return { fault: `a header cut off at byte ${String(at)}` };
    const method = zip.readUInt16LE(at + 8);
    const size = zip.readUInt32LE(at + 18);
    const nameStart = at + 30;
    const start = nameStart + zip.readUInt16LE(at + 26) + zip.readUInt16LE(at + 28);
    if (method !== 0) return { fault: `a compressed member at byte ${String(at)}` };
    if (start + size > zip.length) return { fault: `a member cut off at byte ${String(at)}` };
    if (members.length >= mostMembers) return { fault: `more than ${String(mostMembers)} members` };
    const name = zip.toString('utf8', nameStart, nameStart + zip.readUInt16LE(at + 26));
    members.push({ name, bytes: zip.subarray(start, start + size) });
    at = start + size;
  }
  if (members.length === 0) return { fault: 'no archive' };
  return { members, isCanonical: isTheirArchive(zip, members) };
}

function isTheirArchive(zip: Buffer, members: ZipMember[]): boolean {
  let at = 0;
  for (const piece of storedZip(members)) {
    if (!zip.subarray(at, at + piece.length).equals(piece)) return false;
    at += piece.length;
  }
  return at === zip.length;
}

function localHeader(name: Buffer, size: number, crc: number): Buffer {
  const header = Buffer.alloc(30);
  header.writeUInt32LE(localMark, 0);
  writeShared(header, 4, size, crc, name.length);
  return Buffer.concat([header, name]);
}

function centralHeader(name: Buffer, size: number, crc: number, offset: number): Buffer {
  const isLong = offset >= most32;
  const longAt = centralHeaderBytes + name.length;
  // Kept to the end: what is joined lies in a shared slab, and each would hold all of one.
  const header = Buffer.alloc(longAt + (isLong ? longOffsetBytes : 0));
  header.writeUInt32LE(centralMark, 0);
  header.writeUInt16LE(versionNeeded, 4);
  writeShared(header, 6, size, crc, name.length);
  header.writeUInt32LE(Math.min(offset, most32), 42);
  name.copy(header, centralHeaderBytes);
  if (isLong) {
    header.writeUInt16LE(versionNeededLong, 6);
    header.writeUInt16LE(longOffsetBytes, 30);
    header.writeUInt16LE(1, longAt);
    header.writeUInt16LE(8, longAt + 2);
    header.writeBigUInt64LE(BigInt(offset), longAt + 4);
  }
  return header;
}

/** What both headers of a member say alike. */
function writeShared(header: Buffer, at: number, size: number, crc: number, nameLength: number) {
  header.writeUInt16LE(versionNeeded, at);
  header.writeUInt16LE(flags, at + 2);
  header.writeUInt16LE(fixedDate, at + 8);
  header.writeUInt32LE(crc, at + 10);
  header.writeUInt32LE(size, at + 14);
  header.writeUInt32LE(size, at + 18);
  header.writeUInt16LE(nameLength, at + 22);
}

function endRecords(count: number, directoryLength: number, directoryAt: number): Buffer[] {
  const record = Buffer.alloc(22);
  record.writeUInt32LE(endMark, 0);
  record.writeUInt16LE(Math.min(count, most16), 8);
  record.writeUInt16LE(Math.min(count, most16), 10);
  record.writeUInt32LE(Math.min(directoryLength, most32), 12);
  record.writeUInt32LE(Math.min(directoryAt, most32), 16);
  if (count < most16 && directoryAt < most32 && directoryLength < most32) return [record];
  const long = Buffer.alloc(56);
  long.writeUInt32LE(longEndMark, 0);
  long.writeBigUInt64LE(BigInt(long.length - 12), 4);
  long.writeUInt16LE(versionNeededLong, 12);
  long.writeUInt16LE(versionNeededLong, 14);
  long.writeBigUInt64LE(BigInt(count), 24);
  long.writeBigUInt64LE(BigInt(count), 32);
  long.writeBigUInt64LE(BigInt(directoryLength), 40);
  long.writeBigUInt64LE(BigInt(directoryAt), 48);
  const longAt = Buffer.alloc(20);
  longAt.writeUInt32LE(longEndAtMark, 0);
  longAt.writeBigUInt64LE(BigInt(directoryAt + directoryLength), 8);
  longAt.writeUInt32LE(1, 16);
  return [long, longAt, record];
}

const crcTable = Int32Array.from({ length: 256 }, (_, byte) => {
  let value = byte;
  for (let bit = 0; bit < 8; bit += 1) {
    value = value & 1 ? 0xedb88320 ^ (value >>> 1) : value >>> 1;
  }
  return value;
});

/** @source ISO/IEC/IEEE 8802-3, 3.2.9, as the archive format uses it */
function crc32(bytes: Buffer): number {
  let crc = -1;
  // By index: an iterator over a buffer takes nine times as long.
  for (let at = 0; at < bytes.length; at += 1) {
    crc = (crcTable[(crc ^ (bytes[at] ?? 0)) & 0xff] ?? 0) ^ (crc >>> 8);
  }
  return ~crc >>> 0;
}
