import { parseJson } from '@setwell/shared-models/plant/payload-fault';
import { timingSafeEqual } from 'node:crypto';
import { pipeline } from 'node:stream/promises';
import { rmSync } from 'node:fs';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { ActRefused } from './acts/act.ts';
import { Refused } from './refused.ts';
import { Asked, type Answer, type Route } from './route.ts';

/** An act is a few hundred bytes; the limit is that of a ledger entry. */
const mostBodyBytes = 64 * 1024;
const mostUrlLength = 2048;
/** A dashboard holds three; a plant has a handful of them. */
const mostConnections = 64;

export interface ServerAddress {
  /** 0: any that is free. Loopback only. */
  port?: number;
  /** A Unix socket, which the file system protects. */
  socket?: string;
}

/**
 * The collector's small interface: plain HTTP on loopback, behind a token, or on a Unix socket.
 *
 * Each route is a value with its own parameters and limits; here is only what all have in common.
 */
export class InterfaceServer {
  readonly #routes: Route[];
  readonly #token: string;
  readonly #server: Server;
  readonly #onFault: (error: unknown) => void;

  constructor(routes: Route[], token: string, onFault: (error: unknown) => void) {
    this.#routes = routes;
    this.#token = token;
    this.#onFault = onFault;
    this.#server = createServer((request, response) => void this.#answer(request, response));
    this.#server.maxConnections = mostConnections;
    this.#server.headersTimeout = 10_000;
    this.#server.requestTimeout = 10_000;
  }

  /** Answers the address as it is written in a command line. */
  listen({ port = 0, socket }: ServerAddress): Promise<string> {
    return new Promise((resolve, reject) => {
      this.#server.once('error', reject);
      const listening = () => {
        this.#server.off('error', reject);
        if (socket !== undefined) resolve(`unix:${socket}`);
        else resolve(`http://127.0.0.1:${String((this.#server.address() as AddressInfo).port)}`);
      };
      if (socket === undefined) {
        this.#server.listen(port, '127.0.0.1', listening);
        return;
      }
      // What a killed process left behind; the lock of the data folder says that nobody listens.
      rmSync(socket, { force: true });
      this.#server.listen(socket, listening);
    });
  }

  close(): Promise<void> {
    return new Promise((resolve) => {
      this.#server.close(() => resolve());
      this.#server.closeAllConnections();
    });
  }

  async #answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
    try {
      const { route, asked } = this.#routed(request);
      if ('follow' in route) {
        route.follow(asked, response);
        return;
      }
      const body = route.method === 'POST' ? await readBody(request) : null;
      await send(response, await route.answer(asked, body));
    } catch (error) {
      if (!response.headersSent) await send(response, this.#refusal(error));
      else {
        response.destroy();
        // Whoever asked may have gone in mid-answer; that is no fault.
        if (!isGone(error)) this.#onFault(error);
      }
    }
  }

  #routed(request: IncomingMessage): { route: Route; asked: Asked } {
    const { url = '/', method = 'GET' } = request;
    if (url.length > mostUrlLength) {
      throw new Refused(414, 'too-long', 'url', `${String(url.length)} characters`, 'at most 2048');
    }
    const { pathname, searchParams } = new URL(url, 'http://collector');
    const parts = pathname.split('/').filter((part) => part !== '');
    for (const route of this.#routes) {
      const values = matched(route.path, parts);
      if (!values || route.method !== method) continue;
      if (!route.open && !this.#mayAsk(request)) {
        throw new Refused(401, 'no-token', 'authorization', 'none or a wrong one', 'the token');
      }
      return { route, asked: new Asked(values, searchParams) };
    }
    throw new Refused(
      404,
      'not-found',
      'path',
      `${method} ${pathname}`,
      'a route of the interface',
    );
  }

  #mayAsk(request: IncomingMessage): boolean {
    const given = Buffer.from(request.headers.authorization ?? '');
    const wanted = Buffer.from(`Bearer ${this.#token}`);
    return given.length === wanted.length && timingSafeEqual(given, wanted);
  }

  #refusal(error: unknown): Answer {
    if (error instanceof ActRefused) {
      const { status, ...told } = error.refusal;
      return json({ ...told, reason: error.message }, status);
    }
    if (error instanceof Refused) {
      const { status, code, field, found, expected } = error;
      return json({ code, field, found, expected, reason: error.message }, status);
    }
    this.#onFault(error);
    return json({ code: 'fault', reason: 'the collector has a fault; its log says more' }, 500);
  }
}

export function json(value: unknown, status = 200): Answer {
  return { status, type: 'application/json; charset=utf-8', body: JSON.stringify(value) };
}

async function send(response: ServerResponse, { status, type, body }: Answer): Promise<void> {
  response.writeHead(status, { 'content-type': type, 'cache-control': 'no-store' });
  if (typeof body === 'string' || Buffer.isBuffer(body)) response.end(body);
  else await pipeline(body, response);
}

function isGone(error: unknown): boolean {
  return (error as { code?: unknown }).code === 'ERR_STREAM_PREMATURE_CLOSE';
}

/** Values of the `{name}` parts of a path; null where it is another path. */
function matched(path: string, parts: string[]): Map<string, string> | null {
  const pattern = path.split('/').filter((part) => part !== '');
  if (pattern.length !== parts.length) return null;
  const values = new Map<string, string>();
  for (const [index, part] of pattern.entries()) {
    const given = parts[index] ?? '';
    if (part.startsWith('{')) values.set(part.slice(1, -1), decoded(given));
    else if (part !== given) return null;
  }
  return values;
}

function decoded(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    throw new Refused(400, 'bad-path', 'path', part, 'percent-encoded UTF-8');
  }
}

function readBody(request: IncomingMessage): Promise<unknown> {
  return new Promise((resolve, reject) => {
    const chunks: Buffer[] = [];
    let size = 0;
    request.on('data', (chunk: Buffer) => {
      size += chunk.length;
      if (size > mostBodyBytes) {
        reject(new Refused(413, 'too-large', 'body', `more than ${String(size)} bytes`, '64 KiB'));
        request.pause();
      } else {
        chunks.push(chunk);
      }
    });
    request.on('error', reject);
    request.on('end', () => {
      try {
        const body = parseJson(Buffer.concat(chunks).toString('utf8'));
        if ('value' in body) resolve(body.value);
        else reject(new Refused(400, 'bad-json', 'body', body.found, body.expected));
      } catch {
        reject(new Refused(400, 'bad-json', 'body', 'something else', 'JSON'));
      }
    });
  });
}
