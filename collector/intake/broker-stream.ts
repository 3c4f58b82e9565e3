import { Duplex } from 'node:stream';
import { PacketSplitter, type PacketHandler } from './packet-splitter.ts';

/** The line to a broker: messages go straight to whoever takes them, all else to the client library. */
export class BrokerStream extends Duplex {
  readonly #line: Duplex;

  constructor(line: Duplex, protocolVersion: 4 | 5, handler: PacketHandler) {
    super();
    this.#line = line;
    const splitter = new PacketSplitter(protocolVersion, handler);
    // Little of it is not a message: nothing has to wait for the library.
    line.on('data', (chunk: Buffer) => {
      for (const part of splitter.split(chunk)) this.push(part);
    });
    line.on('end', () => this.push(null));
    line.on('error', (error) => this.destroy(error));
    line.on('close', () => this.destroy());
  }

  override _read(): void {}

  override _write(chunk: Buffer, _encoding: string, done: (error?: Error | null) => void): void {
    this.#line.write(chunk, done);
  }

  /** The library writes a packet in pieces. */
  override _writev(pieces: { chunk: Buffer }[], done: (error?: Error | null) => void): void {
    this.#line.write(Buffer.concat(pieces.map(({ chunk }) => chunk)), done);
  }

  override _final(done: () => void): void {
    this.#line.end(done);
  }

  override _destroy(error: Error | null, done: (error: Error | null) => void): void {
    this.#line.destroy();
    done(error);
  }
}
