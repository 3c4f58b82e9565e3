import { closeSync, openSync, readSync } from 'node:fs';
import { StoredZip, type ZipMember } from '../export/stored-zip.ts';

/** A lot of a hundred loads is some 20 MB; a member twenty times that is none of ours. */
const mostMemberBytes = 400 * 1024 ** 2;
/** Ten years of a lot an hour. */
const mostMembers = 100_000;
const headerBytes = 30;
const localMark = 0x04034b50;
const pieceBytes = 1024 * 1024;

/**
 * Reads an archive of stored members that may be larger than memory, one member after the other, and says
 * at the end whether its bytes are the one archive that these members have.
 */
export class StoredFile {
  readonly #file: number;
  readonly #size: number;
  #at = 0;
  #fault: string | null = null;
  #isCanonical = false;

  constructor(path: string, size: number) {
    this.#file = openSync(path, 'r');
    this.#size = size;
  }

  /** Where it stops being an archive; null where it does not. */
  get fault(): string | null {
    return this.#fault;
  }

  /** Known when all members have been read. */
  get isCanonical(): boolean {
    return this.#isCanonical;
  }

  /** Whether it has a member of that name; reads names only. */
  has(name: string): boolean {
    for (let at = 0, count = 0; count < mostMembers; count += 1) {
      const header = this.#header(at);
      if (!header) return false;
      if (header.name === name) return true;
      at += header.whole;
    }
    return false;
  }

  *members(): Generator<ZipMember> {
    const zip = new StoredZip();
    let isSame = true;
    for (let count = 0; ; count += 1) {
      if (count === mostMembers) this.#stop(`more than ${String(mostMembers)} members`);
      const member = this.#fault === null ? this.#member() : null;
      if (!member) break;
      const [header] = zip.add(member);
      isSame &&= header.equals(member.header);
      yield member;
    }
    if (this.#fault === null) this.#isCanonical = isSame && this.#endsWith(zip.end());
  }

  close(): void {
    closeSync(this.#file);
  }

  #member(): (ZipMember & { header: Buffer }) | null {
    const found = this.#header(this.#at);
    if (!found) return null;
    const { name, header, size } = found;
    if (header.readUInt16LE(8) !== 0) return this.#stop('a compressed member');
    if (size > mostMemberBytes) return this.#stop(`a member of ${String(size)} bytes`);
    const bytes = this.#read(this.#at + header.length, size);
    if (bytes.length < size) return this.#stop('a member cut off');
    this.#at += found.whole;
    return { name, bytes, header };
  }

  #header(at: number) {
    const fixed = this.#read(at, headerBytes);
    if (fixed.length < headerBytes || fixed.readUInt32LE(0) !== localMark) return null;
    const nameLength = fixed.readUInt16LE(26);
    const header = this.#read(at, headerBytes + nameLength + fixed.readUInt16LE(28));
    const size = fixed.readUInt32LE(18);
    const name = header.toString('utf8', headerBytes, headerBytes + nameLength);
    return { name, header, size, whole: header.length + size };
  }

  #stop(what: string): null {
    this.#fault = `${what} at byte ${String(this.#at)}`;
    return null;
  }

  #endsWith(end: Buffer): boolean {
    if (this.#at + end.length !== this.#size) return false;
    for (let at = 0; at < end.length; at += pieceBytes) {
      const piece = end.subarray(at, at + pieceBytes);
      if (!this.#read(this.#at + at, piece.length).equals(piece)) return false;
    }
    return true;
  }

  /** Fewer bytes where the file ends before. */
  #read(at: number, length: number): Buffer {
    const bytes = Buffer.alloc(Math.max(0, Math.min(length, this.#size - at)));
    let read = 0;
    while (read < bytes.length) {
      const count = readSync(this.#file, bytes, read, bytes.length - read, at + read);
      if (count === 0) break;
      read += count;
    }
    return bytes.subarray(0, read);
  }
}
