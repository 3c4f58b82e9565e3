import { randomInt, randomUUID } from 'node:crypto';
import { writeFileSync } from 'node:fs';
import { userInfo } from 'node:os';
import { join, resolve } from 'node:path';
import type { Act, ActAnswer } from '@setwell/shared-models/api/collector';
import type { Command } from 'commander';
import { holderOf } from '../lock.ts';
import { CommandProblem } from '../problem.ts';
import { answered, type Answer } from './answer.ts';
import { askCollector } from './running-collector.ts';

const askWithinMs = 10_000;

export function registerAdministrator(program: Command): void {
  program
    .command('administrator')
    .description('a code that lets an administrator in when no one can sign in any more; recorded')
    .option('--data <folder>', 'of the running collector', 'data')
    .action(answered(administrator));
}

/** On the record first: whoever is on the box may do this, but nobody may do it unseen. */
async function administrator({ data }: { data: string }): Promise<Answer> {
  const folder = resolve(data);
  const holder = holderOf(folder);
  if (holder?.url == null) {
    const expected = 'a collector that runs on it: the code is for its pages';
    throw new CommandProblem({
      code: 'not-running',
      file: folder,
      found: 'none',
      expected,
      exit: 3,
    });
  }
  const { n } = await recorded(holder.url, folder);
  const code = String(randomInt(10 ** 9)).padStart(9, '0');
  const file = join(folder, 'setup-code');
  writeFileSync(file, `${code}\n`, { mode: 0o600 });
  const read = code.replace(/(\d{3})(?=\d)/g, '$1 ');
  const text = `code ${read}   for the sign-in page, once, within an hour; entry ${String(n)} of the record says that it was asked for`;
  return { document: { code, file, n }, text };
}

async function recorded(url: string, folder: string): Promise<ActAnswer> {
  const act: Act = {
    id: randomUUID(),
    kind: 'setup-offered',
    by: 'box',
    about: {},
    body: { user: userInfo().username },
  };
  const lost = (found: string) => {
    const expected = `the collector at ${url} to record it; without an entry there is no code`;
    return new CommandProblem({ code: 'not-recorded', file: folder, found, expected, exit: 3 });
  };
  const withinMs = askWithinMs;
  const answer = await askCollector({ url, folder, path: '/acts', body: act, withinMs, lost });
  if (!answer.ok) throw lost(`status ${String(answer.status)}`);
  return (await answer.json()) as ActAnswer;
}
