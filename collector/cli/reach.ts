import { resolve } from 'node:path';
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

/** The file whose code lets the first administrator in, where the dashboard says that it waits for one. */
export function setupFileIn(said: unknown): string | null {
  const isFile = typeof said === 'object' && said !== null && 'setupFile' in said;
  return isFile && typeof said.setupFile === 'string' ? said.setupFile : null;
}
