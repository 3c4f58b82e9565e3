import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { setTimeout as after } from 'node:timers/promises';
import { CommandProblem } from '../problem.ts';

interface ReachOptions {
  host?: string;
  name: string[];
  tlsCert?: string;
  tlsKey?: string;
  plainHttp?: boolean;
}

export interface Reach {
  scheme: 'http' | 'https';
  host: string;
  /** What the dashboard is told; nothing where this machine alone may reach it. */
  args: string[];
}

/** @throws CommandProblem where pages would leave this machine unprotected and nobody has said so */
export function reachOf(
  { host, name, tlsCert, tlsKey, plainHttp }: ReachOptions,
  demo: boolean,
): Reach {
  if (host === undefined) return { scheme: 'http', host: '127.0.0.1', args: [] };
  if (demo) {
    const expected = 'this machine alone: the demo has no passwords';
    throw new CommandProblem({ code: 'bad-option', field: '--host', found: host, expected });
  }
  const tls = tlsCert !== undefined && tlsKey !== undefined;
  if (!tls && plainHttp !== true) {
    const found = `${host} without TLS`;
    const expected = '--tls-cert and --tls-key (setwell certificate makes them), or --plain-http';
    throw new CommandProblem({ code: 'bad-option', field: '--host', found, expected });
  }
  const names = name.flatMap((each) => ['--name', each]);
  const files = tls
    ? ['--tls-cert', resolve(tlsCert), '--tls-key', resolve(tlsKey)]
    : ['--plain-http'];
  return { scheme: tls ? 'https' : 'http', host, args: ['--host', host, ...names, ...files] };
}

/** The dashboard writes it while it starts; it is shown on a terminal and nowhere else. */
export async function setupCodeIn(dataDir: string): Promise<string | null> {
  if (process.stdout.isTTY !== true) return null;
  for (let tries = 0; tries < 40; tries += 1) {
    try {
      return readFileSync(join(dataDir, 'setup-code'), 'utf8').trim();
    } catch {
      await after(50);
    }
  }
  return null;
}
