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

  /** @param path of the route, not as it was written: spellings are many @throws Problem 401 or 403 */
  async admit(
    asked: AskedRight,
    path: string,
    request: Request,
    params: Record<string, string>,
  ): Promise<{ principal: Principal; by: string }> {
    const principal = this.#parts.who.of(request);
    // Where it is matters to nobody else, and an unknown asker must not make us ask for it.
    const hasHalls = principal.kind === 'person' && principal.person.halls !== null;
    const station = hasHalls ? await this.#station(path, request, params) : null;
    this.#demand(principal, asked, station, request);
    this.#parts.who.heard(principal, request.method === 'POST');
    return { principal, by: nameOf(principal) ?? ownNameTyped(request) };
  }

  /** Whoever asks may look at all. @throws Problem 401 or 403 */
  admitReader(request: Request): void {
    this.#demand(this.#parts.who.of(request), { right: 'look', meaning: null }, null, request);
  }

  #demand(
    principal: Principal,
    { right, meaning }: AskedRight,
    station: string | null,
    request: Request,
  ): void {
    const { who, log } = this.#parts;
    const typed = typedBy(request);
    const demoJob = request.method === 'POST' && typed !== '' ? typed : null;
    try {
      who.demand(principal, { right, meaning, station, demoJob });
    } catch (error) {
      if (error instanceof Problem && error.status === 403 && principal.kind === 'person') {
        log.note(`refused-${right}`, principal.person.id, request);
      }
      throw error;
    }
  }

  /** The same as a question. */
  letsRead(request: Request): boolean {
    try {
      this.admitReader(request);
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

  /** Where the act is. What its address names counts before what its body says. */
  async #station(
    path: string,
    request: Request,
    params: Record<string, string>,
  ): Promise<string | null> {
    const { id, station } = params;
    if (station !== undefined) return station;
    const { stationOf, stationOfPoint } = this.#parts.where;
    if (id !== undefined) {
      if (path.startsWith('/stations/')) return id;
      if (path.startsWith('/loads/')) return stationOf('load', id);
      if (path.startsWith('/calls/')) return stationOf('call', id);
      if (path.startsWith('/points/')) return (await stationOfPoint(id)) ?? null;
    }
    const named = bodyOf(request)['station'];
    return typeof named === 'string' ? named : null;
  }
}

function bodyOf(request: Request): Record<string, unknown> {
  const body: unknown = request.body;
  return typeof body === 'object' && body !== null && !Array.isArray(body)
    ? (body as Record<string, unknown>)
    : {};
}

/** Who is said to do it, where no one proves it. */
function typedBy(request: Request): string {
  const { by } = bodyOf(request);
  return typeof by === 'string' ? by.trim() : '';
}

/** @throws Problem 422 for what the record calls somebody or something else */
function ownNameTyped(request: Request): string {
  const typed = typedBy(request);
  if (!/^([pd]-\d+|plant|collector|box)$/i.test(typed)) return typed;
  const text = `field "by": found "${typed}", which the record means otherwise; expected your name`;
  throw new Problem(422, 'bad-input', text, { field: 'by' });
}

function nameOf(principal: Principal): string | null {
  if (principal.kind === 'person') return principal.person.id;
  return principal.kind === 'device' ? principal.device.id : null;
}
