import { request, type IncomingMessage, type RequestOptions } from 'node:http';
import { createInterface } from 'node:readline';
import type { Act, ActAnswer, ActStored } from '@setwell/shared-models/api/collector';

export type ActSent = { n: number; load?: string } | ActStored;

/** Where the collector listens: `http://host:port`, or `unix:/path` on one box. */
export interface CollectorAddress {
  url: string;
  token: string;
}

/** Asking the collector failed; `status` is null where it did not answer at all. */
export class CollectorError extends Error {
  readonly status: number | null;
  readonly body: unknown;
  /** It had been asked: whether it was done is not known. */
  readonly asked: boolean;
  constructor(message: string, status: number | null, body: unknown = null, asked = false) {
    super(message);
    this.status = status;
    this.body = body;
    this.asked = asked;
  }
  get unreachable(): boolean {
    return this.status === null;
  }
}

/** A trace of a day of one load is about 4 MB; anything past this is not an answer of ours. */
const maxAnswerBytes = 32 * 1024 * 1024;
const askTimeoutMs = 10_000;
const takeTimeoutMs = 60_000;
/** The collector says every ten seconds that it is there: after this a connection is dead, whatever TCP thinks. */
const silentMs = 35_000;
/** A ledger entry has 64 KiB at most, a judgement of 1,000 places about 200 KB. */
const maxLineChars = 2 * 1024 * 1024;

function optionsFor(address: CollectorAddress, path: string): RequestOptions {
  const headers = { authorization: `Bearer ${address.token}`, accept: 'application/json' };
  if (address.url.startsWith('unix:')) {
    return { socketPath: address.url.slice('unix:'.length), path, headers };
  }
  const base = new URL(address.url);
  return { host: base.hostname, port: base.port, path, headers };
}

/** The collector's small interface, from the outside. Plain HTTP: one box, or a tunnel of the plant's. */
export class CollectorClient {
  readonly #address: CollectorAddress;
  readonly #silentMs: number;
  /** @param endsAfterMs a followed stream ends when nothing has come for so long */
  constructor(address: CollectorAddress, endsAfterMs = silentMs) {
    this.#address = address;
    this.#silentMs = endsAfterMs;
  }

  /** @throws CollectorError with the status, or null where nobody answered in time */
  async ask(path: string): Promise<unknown> {
    return parsed((await this.#exchange('GET', path, null)).body, path);
  }

  /** The bytes as they are, with their type: files go through untouched. */
  async fetch(path: string): Promise<{ body: Buffer; type: string }> {
    return this.#exchange('GET', path, null);
  }

  /** The file that an act answers with; it may take as long as its pictures. */
  async take(path: string, value: object): Promise<{ body: Buffer; type: string }> {
    return this.#exchange('POST', path, JSON.stringify(value), takeTimeoutMs);
  }

  /**
   * A file that may be larger than memory, as it comes.
   *
   * @throws CollectorError where it is refused or nobody answers
   */
  stream(path: string, value: object): Promise<IncomingMessage> {
    return new Promise((resolve, reject) => {
      const options = optionsFor(this.#address, path);
      const call = request({ ...options, method: 'POST', timeout: takeTimeoutMs }, (answer) => {
        const status = answer.statusCode ?? 0;
        if (status === 200) resolve(answer);
        else {
          answer.resume();
          reject(new CollectorError(`${path}: ${status}`, status));
        }
      });
      call.on('timeout', () => call.destroy(new Error(`no answer in ${takeTimeoutMs} ms`)));
      call.on('error', (error) => reject(new CollectorError(`${path}: ${error.message}`, null)));
      call.setHeader('content-type', 'application/json').end(JSON.stringify(value));
    });
  }

  async post(path: string, value: object): Promise<unknown> {
    return parsed((await this.#exchange('POST', path, JSON.stringify(value))).body, path);
  }

  /**
   * An act: the number of its entry, and the load it is about; or that it is stored and not yet judged.
   *
   * @throws CollectorError where it is refused, or nobody answered
   */
  async act(act: Act): Promise<ActSent> {
    const answer = (await this.post('/acts', act)) as ActAnswer | ActStored;
    if ('stored' in answer) return answer;
    const { n, entry } = answer;
    const { load } = entry.about;
    return load === undefined ? { n } : { n, load };
  }

  #exchange(
    method: string,
    path: string,
    body: string | null,
    timeout = askTimeoutMs,
  ): Promise<{ body: Buffer; type: string }> {
    return new Promise((resolve, reject) => {
      const options = optionsFor(this.#address, path);
      const call = request({ ...options, method, timeout }, (answer) => {
        const chunks: Buffer[] = [];
        let size = 0;
        answer.on('data', (chunk: Buffer) => {
          size += chunk.length;
          if (size > maxAnswerBytes) call.destroy(new Error(`more than ${maxAnswerBytes} bytes`));
          else chunks.push(chunk);
        });
        answer.on('error', (error) => reject(new CollectorError(error.message, null)));
        answer.on('end', () => {
          const bytes = Buffer.concat(chunks);
          const status = answer.statusCode ?? 0;
          if (status >= 200 && status < 300) {
            resolve({ body: bytes, type: answer.headers['content-type'] ?? 'application/json' });
          } else {
            reject(new CollectorError(`${path}: ${status}`, status, parsedOrNull(bytes)));
          }
        });
      });
      call.on('timeout', () => call.destroy(new Error(`no answer in ${timeout} ms`)));
      let asked = false;
      call.on('finish', () => (asked = true));
      call.on('error', (error) =>
        reject(new CollectorError(`${path}: ${error.message}`, null, null, asked)),
      );
      if (body === null) call.end();
      else call.setHeader('content-type', 'application/json').end(body);
    });
  }

  /**
   * Lines of a followed stream, until it ends. The answer stops it.
   *
   * @param onEnd called once, whatever ended it
   * @param onBegin called when the collector has begun to answer
   */
  follow(
    path: string,
    onLine: (line: string) => void,
    onEnd: (error: Error | null) => void,
    onBegin: () => void = () => undefined,
  ): () => void {
    let over = false;
    const end = (error: Error | null): void => {
      if (over) return;
      over = true;
      call.destroy();
      onEnd(error);
    };
    const options = { ...optionsFor(this.#address, path), timeout: this.#silentMs };
    const call = request(options, (answer: IncomingMessage) => {
      if (answer.statusCode !== 200) {
        end(new CollectorError(`${path}: ${answer.statusCode}`, answer.statusCode ?? null));
        return;
      }
      onBegin();
      const lines = createInterface({ input: answer, crlfDelay: Infinity });
      lines.on('error', (error: Error) => end(error));
      lines.on('line', (line) => {
        if (over || line === '') return;
        if (line.length > maxLineChars) {
          end(new Error(`${path}: a line of ${line.length} characters`));
          return;
        }
        onLine(line);
      });
      answer.on('close', () => end(null));
    });
    call.on('timeout', () => end(new Error(`${path}: nothing in ${options.timeout} ms`)));
    call.on('error', (error) => end(error));
    call.end();
    return () => end(null);
  }
}

function parsed(bytes: Buffer, path: string): unknown {
  try {
    return JSON.parse(bytes.toString('utf8')) as unknown;
  } catch {
    throw new CollectorError(`${path}: the answer is no JSON`, 502);
  }
}

function parsedOrNull(bytes: Buffer): unknown {
  try {
    return JSON.parse(bytes.toString('utf8')) as unknown;
  } catch {
    return null;
  }
}
