import { spawn } from 'node:child_process';

/** Enough for any error message; a compiler's whole log is not wanted in memory. */
const keptCharacters = 20_000;

/** @type {Set<import('node:child_process').ChildProcess>} */
const running = new Set();

/** Ends what runs, so that a set-up that is stopped leaves nobody behind who goes on writing. */
export async function stopPrograms() {
  const ends = [...running].map((child) => {
    child.kill();
    return new Promise((ended) => child.once('close', ended));
  });
  await Promise.all(ends);
}

/**
 * Runs a program to its end and keeps the tail of what it said.
 *
 * @param {string} command
 * @param {string[]} args
 * @param {{ cwd: string, env?: Record<string, string>, onLine?: (line: string) => void, show?: boolean }} options
 * @returns {Promise<{ code: number, said: string }>} code 127 where there is no such program
 */
export function runProgram(command, args, { cwd, env = {}, onLine, show = false }) {
  return new Promise((resolve) => {
    let said = '';
    const child = spawn(command, args, {
      cwd,
      env: { ...process.env, ...env },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    running.add(child);
    child.once('close', () => running.delete(child)).once('error', () => running.delete(child));
    /** @param {Buffer} chunk */
    const hear = (chunk) => {
      const text = chunk.toString();
      said = (said + text).slice(-keptCharacters);
      if (show) process.stdout.write(text);
      if (onLine) for (const line of text.split('\n')) if (line.trim()) onLine(line.trim());
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    child.once('error', (error) => resolve({ code: 127, said: `${said}${error.message}` }));
    child.once('close', (code) => resolve({ code: code ?? 1, said }));
  });
}

/**
 * npm as this process was started by it, else the one on the path. It says what is wrong even where it was
 * itself told to be silent, which it hands down to those it starts.
 *
 * @type {(args: string[]) => [string, string[]]}
 */
export function npm(args) {
  const cli = process.env['npm_execpath'];
  const spoken = [...args, '--loglevel=notice'];
  return cli?.endsWith('.js') ? [process.execPath, [cli, ...spoken]] : ['npm', spoken];
}
