/** A message as it comes over the wire. */
export interface Published {
  topic: string;
  payload: Buffer;
  retained: boolean;
  /** Its number, by which it is acknowledged; null at QoS 0. */
  messageId: number | null;
}

export interface PacketHandler {
  published(message: Published): void;
  /** The broker lets us in. */
  greeted(sessionPresent: boolean): void;
}

const connack = 0x20;
const publish = 0x30;
/** A length has four bytes at most [MQTT-1.5.5-1]. */
const mostLengthBytes = 4;

/**
 * Takes messages at QoS 0 and 1 out of a broker's stream, and leaves all else to the client library:
 * through its own reading each message costs as much again as storing it.
 *
 * What it cannot read, and all that comes after, goes to the library as it is.
 *
 * @source MQTT 3.1.1, 2.2 (fixed header), 3.2 (CONNACK), 3.3 (PUBLISH); MQTT 5, 3.3.2 (properties)
 */
export class PacketSplitter {
  readonly #hasProperties: boolean;
  readonly #handler: PacketHandler;
  /** The beginning of a packet whose end has not come. */
  #begun: Buffer[] = [];
  #begunBytes = 0;
  /** How long it is; 0 while that is not known either. */
  #wholeBytes = 0;
  #isLost = false;

  constructor(protocolVersion: 4 | 5, handler: PacketHandler) {
    this.#hasProperties = protocolVersion === 5;
    this.#handler = handler;
  }

  /** @returns what is the library's, in its order */
  split(chunk: Buffer): Buffer[] {
    if (this.#isLost) return [chunk];
    const bytes = this.#withBegun(chunk);
    const others: Buffer[] = [];
    for (let at = 0; bytes !== null && at < bytes.length;) {
      const bodyAt = this.#bodyAt(bytes, at);
      if (bodyAt === null || at + this.#wholeBytes > bytes.length) {
        this.#begin(bytes.subarray(at));
        break;
      }
      const endAt = at + this.#wholeBytes;
      if (!this.#isLost && this.#take(bytes, at, bodyAt, endAt)) {
        at = endAt;
        continue;
      }
      others.push(bytes.subarray(at, this.#isLost ? bytes.length : endAt));
      at = this.#isLost ? bytes.length : endAt;
    }
    return others;
  }

  /** Null while the packet is not whole. */
  #withBegun(chunk: Buffer): Buffer | null {
    if (this.#begun.length === 0) return chunk;
    this.#begin(chunk);
    if (this.#begunBytes < this.#wholeBytes) return null;
    const bytes = Buffer.concat(this.#begun);
    this.#begun = [];
    this.#begunBytes = 0;
    return bytes;
  }

  #begin(part: Buffer): void {
    this.#begun.push(part);
    this.#begunBytes += part.length;
  }

  /** Where a packet's body begins, its length noted; null while that has not come. */
  #bodyAt(bytes: Buffer, at: number): number | null {
    let length = 0;
    for (let i = 0; i < mostLengthBytes; i += 1) {
      const digit = bytes[at + 1 + i];
      if (digit === undefined) {
        this.#wholeBytes = 0;
        return null;
      }
      length += (digit & 127) * 128 ** i;
      if (digit < 128) {
        this.#wholeBytes = 2 + i + length;
        return at + 2 + i;
      }
    }
    this.#isLost = true;
    this.#wholeBytes = 0;
    return at;
  }

  /** @returns whether it is ours alone */
  #take(bytes: Buffer, at: number, bodyAt: number, endAt: number): boolean {
    const first = bytes[at]!;
    if (first === connack && endAt - bodyAt >= 2 && bytes[bodyAt + 1] === 0) {
      this.#handler.greeted((bytes[bodyAt]! & 1) === 1);
    }
    const qos = (first >> 1) & 3;
    if ((first & 0xf0) !== publish || qos > 1) return false;
    const topicAt = bodyAt + 2;
    const topicEnd = topicAt < endAt ? topicAt + bytes.readUInt16BE(bodyAt) : Infinity;
    const payloadAt = this.#payloadAt(bytes, topicEnd + 2 * qos, endAt);
    if (payloadAt === null) {
      this.#isLost = true;
      return false;
    }
    this.#handler.published({
      topic: bytes.toString('utf8', topicAt, topicEnd),
      payload: bytes.subarray(payloadAt, endAt),
      retained: (first & 1) === 1,
      messageId: qos === 0 ? null : bytes.readUInt16BE(topicEnd),
    });
    return true;
  }

  /** Behind the properties; null where the packet is too short for them. */
  #payloadAt(bytes: Buffer, at: number, endAt: number): number | null {
    let payloadAt = at;
    if (this.#hasProperties) {
      let length = 0;
      for (let i = 0; ; i += 1) {
        if (at + i >= endAt || i === mostLengthBytes) return null;
        const digit = bytes[at + i]!;
        length += (digit & 127) * 128 ** i;
        if (digit >= 128) continue;
        payloadAt = at + i + 1 + length;
        break;
      }
    }
    return payloadAt <= endAt ? payloadAt : null;
  }
}
