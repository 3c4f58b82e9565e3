import type { Request } from 'express';
import type { Right } from '@setwell/shared-models/api/people';
import { Problem } from '../problem.ts';
import { HallReach, hallsRead, type Whereabouts } from './hall-reach.ts';
import { meaningFor, rightFor, rightOfRoute, type Meaning } from './rights.ts';
import type { SecurityLog } from './security-log.ts';
import type { Principal, Who } from './who.ts';

export interface GateParts {
  who: Who;
  log: SecurityLog;
  where: Whereabouts;
  /** The plant lets anybody in its network read. */
  readingIsOpen: () => boolean;
}

/** What a request asks for, and the meaning that a password has to be given with. */
export interface AskedRight {
  right: Right;
  meaning: Meaning | null;
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
  asked({ method, path }: { method: string; path: string }, request: Request): AskedRight {
    const route = `${method} ${path}`;
    const body = bodyOf(request);
    const right = rightFor(route, this.rightOf({ method, path }), body);
    return { right, meaning: method === 'post' ? meaningFor(route, right, body) : null };
  }

  /** @throws Problem 401 or 403 */
  admit(
    { right, meaning }: AskedRight,
    request: Request,
    params: Record<string, string>,
  ): { principal: Principal; by: string } {
    const { who, log } = this.#parts;
    const principal = who.of(request);
    const body = bodyOf(request);
    const typed = typeof body['by'] === 'string' ? body['by'].trim() : '';
    const writes = request.method === 'POST';
    const demoJob = writes && typed !== '' ? typed : null;
    const station = this.#station(request.path, params, body);
    try {
      who.demand(principal, { right, meaning, station, demoJob });
    } catch (error) {
      if (error instanceof Problem && error.status === 403 && principal.kind === 'person') {
        log.note(`refused-${right}`, principal.person.id, request);
      }
      throw error;
    }
    const by = nameOf(principal) ?? typed;
    return { principal, by };
  }

  /** The same as a question. */
  lets(right: Right, request: Request): boolean {
    try {
      this.admit({ right, meaning: null }, request, {});
      return true;
    } catch {
      return false;
    }
  }

  /** What of the plant somebody's reading is kept to; null: he reads all of it. */
  reachOf(principal: Principal): HallReach | null {
    const halls = this.#parts.readingIsOpen() ? null : hallsRead(principal);
    return halls && new HallReach(halls, this.#parts.where);
  }

  /** The same of whoever asks. */
  reachOfRequest(request: Request): HallReach | null {
    return this.reachOf(this.#parts.who.of(request));
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
    const { id, station } = params;
    if (station !== undefined) return station;
    if (id === undefined) return null;
    const { stationOf } = this.#parts.where;
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
