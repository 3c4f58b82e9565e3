import { readFileSync, readdirSync, readlinkSync } from 'node:fs';
import { createServer } from 'node:net';

/**
 * Whether somebody listens there already.
 *
 * @param {number} port
 * @returns {Promise<boolean>}
 */
export function isTaken(port) {
  return new Promise((resolve, reject) => {
    const probe = createServer();
    probe.once('error', (error) => {
      const code = /** @type {NodeJS.ErrnoException} */ (error).code;
      if (code === 'EADDRINUSE' || code === 'EACCES') resolve(true);
      else reject(error);
    });
    probe.listen({ port, host: '127.0.0.1', exclusive: true }, () =>
      probe.close(() => resolve(false)),
    );
  });
}

/**
 * The next free port after one that is taken.
 *
 * @param {number} port
 */
export async function nextFree(port) {
  for (let next = port + 1; next < Math.min(port + 100, 65_536); next++)
    if (!(await isTaken(next))) return next;
  return null;
}

/**
 * Who listens on a port, as far as this user may see: "node (pid 4711)", else null.
 *
 * @param {number} port
 */
export function holderOf(port) {
  const inodes = new Set(['/proc/net/tcp', '/proc/net/tcp6'].flatMap((f) => listening(f, port)));
  if (inodes.size === 0) return null;
  for (const pid of attempt(() => readdirSync('/proc'), []).filter((name) => /^\d+$/.test(name))) {
    const links = attempt(() => readdirSync(`/proc/${pid}/fd`), []).map((fd) =>
      attempt(() => readlinkSync(`/proc/${pid}/fd/${fd}`), ''),
    );
    if (links.some((link) => inodes.has(link)))
      return `${attempt(() => readFileSync(`/proc/${pid}/comm`, 'utf8').trim(), 'a program')} (pid ${pid})`;
  }
  return null;
}

/** @type {(file: string, port: number) => string[]} */
function listening(file, port) {
  const wanted = `:${port.toString(16).toUpperCase().padStart(4, '0')}`;
  const listen = '0A';
  return attempt(() => readFileSync(file, 'utf8'), '')
    .split('\n')
    .map((line) => line.trim().split(/\s+/))
    .filter((columns) => columns[1]?.endsWith(wanted) && columns[3] === listen)
    .map((columns) => `socket:[${columns[9]}]`);
}

/**
 * Processes come and go while they are read, and other users' are closed to us.
 *
 * @template T
 * @param {() => T} read
 * @param {T} otherwise
 */
function attempt(read, otherwise) {
  try {
    return read();
  } catch {
    return otherwise;
  }
}
