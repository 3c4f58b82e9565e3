import { randomBytes } from 'node:crypto';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';

/** The interface's token: made once, readable by nobody else. */
export function tokenIn(file: string): string {
  if (!existsSync(file))
    writeFileSync(file, `${randomBytes(32).toString('hex')}\n`, { mode: 0o600 });
  return readFileSync(file, 'utf8').trim();
}
