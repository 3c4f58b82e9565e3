import type { Request } from 'express';
import type { Right } from '@setwell/shared-models/api/people';
import { rightFor, rightOfRoute } from './rights.ts';
import type { Principal, Who } from './who.ts';

export interface GateParts {
  who: Who;
  /** The station of a load or of a call; null where it is about none. */
  stationOf: (kind: 'load' | 'call', id: string) => string | null;
}

/** Every request goes through here before its input is looked at. */
export class Gate {
  readonly #parts: GateParts;

  constructor(parts: GateParts) {
    this.#parts = parts;
  }

  /** @throws Error at the start, for a route that nobody has given a right */
  rightOf({ method, path }: { method: string; path: string }): Right {
    const right = rightOfRoute[`${method} ${path}`];
    if (right === undefined) throw new Error(`${method} ${path} has no row in people/rights.ts`);
    return right;
  }

  /** What this request asks for: a row of the table, or what its body makes of it. */
  rightNow({ method, path }: { method: string; path: string }, request: Request): Right {
    const route = `${method} ${path}`;
    return rightFor(route, this.rightOf({ method, path }), bodyOf(request));
  }

  /** @throws Problem 401 or 403 */
  admit(
    right: Right,
    request: Request,
    params: Record<string, string>,
  ): { principal: Principal; by: string } {
    const { who } = this.#parts;
    const principal = who.of(request);
    const body = bodyOf(request);
    const typed = typeof body['by'] === 'string' ? body['by'].trim() : '';
    const writes = request.method === 'POST';
    const demoJob = writes && typed !== '' ? typed : null;
    const station = this.#station(request.path, params, body);
    who.demand(principal, { right, writes, station, demoJob });
    const by = nameOf(principal) ?? typed;
    return { principal, by };
  }

  /** The same as a question. */
  lets(right: Right, request: Request): boolean {
    try {
      this.admit(right, request, {});
      return true;
    } catch {
      return false;
    }
  }

  done(right: Right, principal: Principal): void {
    this.#parts.who.done(principal, right);
  }

  #station(
    path: string,
    params: Record<string, string>,
    body: Record<string, unknown>,
  ): string | null {
    if (typeof body['station'] === 'string') return body['station'];
    const { id } = params;
    if (id === undefined) return null;
    const { stationOf } = this.#parts;
    if (path.startsWith('/stations/')) return id;
    if (path.startsWith('/loads/')) return stationOf('load', id);
    if (path.startsWith('/calls/')) return stationOf('call', id);
    return null;
  }
}

function bodyOf(request: Request): Record<string, unknown> {
  const body: unknown = request.body;
  return typeof body === 'object' && body !== null && !Array.isArray(body)
    ? (body as Record<string, unknown>)
    : {};
}

function nameOf(principal: Principal): string | null {
  if (principal.kind === 'person') return principal.person.id;
  return principal.kind === 'device' ? principal.device.id : null;
}
