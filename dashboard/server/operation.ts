import type { Request, RequestHandler, Response, Router } from 'express';
import { z } from 'zod';
import type { Gate } from './people/gate.ts';
import type { Meaning } from './people/rights.ts';
import type { Principal } from './people/who.ts';
import { parseInput } from './problem.ts';

/** One thing the interface answers: its route, its words and its input, so that route and description cannot differ. */
export interface Operation {
  method: 'get' | 'post';
  /** In the words of OpenAPI: `/loads/{id}`. */
  path: string;
  summary: string;
  query?: z.ZodObject;
  body?: z.ZodObject;
  /** What the answer holds, in words. */
  answer: string;
  type?: string;
  guards?: RequestHandler[];
  /** Answers with a value (sent as JSON), or sends for itself and answers nothing. */
  handle: (request: ParsedRequest, response: Response) => unknown;
}

export interface ParsedRequest {
  params: Record<string, string>;
  query: Record<string, unknown>;
  body: Record<string, unknown>;
  raw: Request;
  principal: Principal;
  /** Who does it, as the ledger will say: a person's number, else what was typed. */
  by: string;
  /** What of a value may be read by him: for what a handler sends itself. */
  within: <T>(value: T) => T;
  /** What his password was given for; nothing where the act asked for none. */
  signed: { meaning?: Meaning };
}

/** Binds the types of query and body to the handler of an operation. */
export function operation<Q extends z.ZodObject, B extends z.ZodObject>(
  spec: Omit<Operation, 'query' | 'body' | 'handle'> & {
    query?: Q;
    body?: B;
    handle: (
      request: Omit<ParsedRequest, 'query' | 'body'> & { query: z.infer<Q>; body: z.infer<B> },
      response: Response,
    ) => unknown;
  },
): Operation {
  return spec as unknown as Operation;
}

/** Names in an address: lots and loads as plants write them, and ids of calls, which hold such a name. */
const nameInPath = z.string().min(1).max(300);

export function mount(router: Router, operations: Operation[], gate: Gate): void {
  for (const op of operations) {
    gate.rightOf(op);
    const path = op.path.replaceAll(/\{(\w+)\}/g, ':$1');
    const handler: RequestHandler = async (request, response) => {
      const params: Record<string, string> = {};
      for (const [name, value] of Object.entries(request.params)) {
        params[name] = parseInput(nameInPath, value, `path "${name}"`);
      }
      const asked = gate.asked(op, request);
      const { principal, by } = await gate.admit(asked, op.path, request, params);
      const reach = gate.reachOf(principal);
      await reach?.demand(op.path, params, request.query);
      const within = <T>(value: T): T => reach?.of(value) ?? value;
      const parsed: ParsedRequest = {
        params,
        query: op.query === undefined ? {} : parseInput(op.query, request.query, 'query'),
        body: op.body === undefined ? {} : parseInput(op.body, bodyBy(op, request, by), 'body'),
        raw: request,
        principal,
        by,
        within,
        signed: principal.kind === 'person' && asked.meaning ? { meaning: asked.meaning } : {},
      };
      const value = within(await op.handle(parsed, response));
      if (op.method === 'post') gate.done(asked.right, principal);
      if (value === undefined) return;
      response.setHeader('cache-control', 'no-store');
      // Taken in and not done yet.
      if (typeof value === 'object' && value !== null && 'stored' in value) response.status(202);
      response.json(value);
    };
    router[op.method](path, ...(op.guards ?? []), handler);
  }
}

/** Who it is was proven at the gate: what a page wrote there counts for nothing. */
function bodyBy(op: Operation, request: Request, by: string): unknown {
  const body: unknown = request.body;
  if (by === '' || op.body?.shape['by'] === undefined) return body;
  return typeof body === 'object' && body !== null && !Array.isArray(body) ? { ...body, by } : body;
}
