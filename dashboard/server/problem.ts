import type { ErrorRequestHandler, Request, RequestHandler, Response } from 'express';
import type { z } from 'zod';
import { CollectorError } from './collector-client.ts';

/** An answer that is a refusal, in the form of RFC 9457. */
export class Problem extends Error {
  readonly status: number;
  readonly code: string;
  readonly more: Record<string, unknown>;
  constructor(status: number, code: string, title: string, more: Record<string, unknown> = {}) {
    super(title);
    this.status = status;
    this.code = code;
    this.more = more;
  }
}

export function sendProblem(response: Response, problem: Problem): void {
  response
    .status(problem.status)
    .type('application/problem+json')
    .send(
      JSON.stringify({
        ...problem.more,
        type: 'about:blank',
        title: problem.message,
        status: problem.status,
        code: problem.code,
      }),
    );
}

/** Parses what came in, once; past it there is no second check. */
export function parseInput<T>(schema: z.ZodType<T>, value: unknown, what: string): T {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  const issue = result.error.issues[0];
  const field = issue?.path.join('.') ?? '';
  throw new Problem(
    422,
    'bad-input',
    `${what}${field === '' ? '' : ` field "${field}"`}: ${issue?.message ?? 'not understood'}`,
    {
      field,
      expected: issue?.message ?? null,
    },
  );
}

/** What the collector refused or could not be asked, in our own form. */
function problemOfCollector(error: CollectorError): Problem {
  if (error.asked) {
    const what =
      'The collector was asked and did not answer in time: whether it was done is not known.';
    return new Problem(504, 'unknown', what);
  }
  if (error.unreachable) {
    return new Problem(503, 'not-recorded', 'The collector does not answer: nothing was recorded.');
  }
  const body = error.body;
  const more = typeof body === 'object' && body !== null && !Array.isArray(body) ? body : {};
  switch (error.status) {
    case 404:
      return new Problem(404, 'not-found', 'The collector knows nothing of this.', { ...more });
    case 409:
      return new Problem(409, 'moved-on', 'What this answers has moved on meanwhile.', { ...more });
    case 422:
      return new Problem(422, 'refused', 'The collector refuses this.', {
        ...more,
        ...('code' in more ? { cause: more.code } : {}),
      });
    default:
      return new Problem(502, 'collector', `The collector answered ${error.status}.`, { ...more });
  }
}

export const notFound: RequestHandler = (request: Request) => {
  throw new Problem(404, 'not-found', `Nothing answers ${request.method} ${request.path}.`);
};

/** The one place where a throw of a route becomes an answer. Bugs are logged with their stack, and answered without. */
export function problemHandler(log: (line: string) => void): ErrorRequestHandler {
  return (error: unknown, _request, response, next) => {
    if (response.headersSent) {
      next(error);
      return;
    }
    if (error instanceof Problem) sendProblem(response, error);
    else if (error instanceof CollectorError) sendProblem(response, problemOfCollector(error));
    else if (isClientError(error)) {
      sendProblem(response, new Problem(error.status, 'bad-request', error.message));
    } else {
      log(error instanceof Error ? (error.stack ?? error.message) : String(error));
      sendProblem(
        response,
        new Problem(500, 'fault', 'The dashboard has a fault; its log says more.'),
      );
    }
  };
}

/** Errors of the body parser: too large, not JSON. */
function isClientError(error: unknown): error is Error & { status: number } {
  return (
    error instanceof Error &&
    'status' in error &&
    typeof error.status === 'number' &&
    error.status >= 400 &&
    error.status < 500
  );
}
