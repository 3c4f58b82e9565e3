import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { CommandProblem } from '../problem.ts';

/** What a command asks of the collector that runs on a data folder. */
export interface Question {
  url: string;
  folder: string;
  path: string;
  /** Null: it is read, and nothing goes out. */
  body: object | null;
  /** Without it, it may take as long as its file is long [ms]. */
  withinMs?: number;
  /** Where nothing answers, by what was found instead. */
  lost(found: string): CommandProblem;
}

/**
 * Its answer, whatever its status. Whoever may read the data folder may ask: the token stands in it.
 *
 * @throws CommandProblem where nothing answers
 */
export async function askCollector(question: Question): Promise<Response> {
  const { url, folder, path, body, withinMs, lost } = question;
  const token = readFileSync(join(folder, 'token'), 'utf8').trim();
  try {
    return await fetch(`${url}${path}`, {
      method: body === null ? 'GET' : 'POST',
      headers: { authorization: `Bearer ${token}`, 'content-type': 'application/json' },
      ...(body !== null && { body: JSON.stringify(body) }),
      ...(withinMs !== undefined && { signal: AbortSignal.timeout(withinMs) }),
    });
  } catch (error) {
    throw lost(error instanceof Error ? error.message : String(error));
  }
}
