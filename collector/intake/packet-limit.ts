/** The parser of the broker holds a whole packet, up to 256 MB: this looks at the headers before. */
export class PacketLimit {
  readonly #mostBytes: number;
  /** Bytes of the current packet still to come. */
  #bodyLeft = 0;
  #header: number[] = [];

  constructor(mostBytes: number) {
    this.#mostBytes = mostBytes;
  }

  /**
   * Follows the stream.
   *
   * @returns the length [bytes] of a packet that is too long, as soon as its header is known
   * @source MQTT 3.1.1, 2.2 (fixed header, remaining length)
   */
  see(chunk: Buffer): number | null {
    let at = 0;
    while (at < chunk.length) {
      if (this.#bodyLeft > 0) {
        const step = Math.min(this.#bodyLeft, chunk.length - at);
        this.#bodyLeft -= step;
        at += step;
        continue;
      }
      this.#header.push(chunk[at]!);
      at += 1;
      const length = this.#remainingLength();
      if (length === null) continue;
      this.#header = [];
      if (length > this.#mostBytes) return length;
      this.#bodyLeft = length;
    }
    return null;
  }

  /** Seven bits a byte, the least first; null while it is not complete. */
  #remainingLength(): number | null {
    const digits = this.#header.slice(1);
    const last = digits.at(-1);
    if (last === undefined || (last >= 128 && digits.length < 4)) return null;
    return digits.reduce((sum, digit, i) => sum + (digit & 127) * 128 ** i, 0);
  }
}
