import { chmodSync, existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs';
import { statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** Who has a data folder open, and where it answers. */
export interface Holder {
  pid: number;
  url: string | null;
}

/** The data folder is another process's. */
export class FolderHeld extends Error {
  readonly holder: Holder;

  constructor(folder: string, holder: Holder) {
    const where = holder.url === null ? '' : `, ${holder.url}`;
    super(`${folder} is in use by process ${String(holder.pid)}${where}`);
    this.holder = holder;
  }
}

const fileName = 'collector.json';

/** One process a data folder: two writers would be two truths. */
export class FolderLock {
  readonly #file: string;

  /** @throws FolderHeld while another process has it */
  constructor(folder: string) {
    mkdirSync(folder, { recursive: true });
    // People, readings and keys are nobody else's on this machine, in folders of earlier versions too.
    if (statSync(folder).uid === process.getuid?.()) chmodSync(folder, 0o700);
    this.#file = join(folder, fileName);
    const holder = holderOf(folder);
    if (holder) throw new FolderHeld(folder, holder);
    this.#write(null);
  }

  /** Others find the interface by it. */
  answersAt(url: string): void {
    this.#write(url);
  }

  release(): void {
    rmSync(this.#file, { force: true });
  }

  #write(url: string | null): void {
    const { pid } = process;
    writeFileSync(this.#file, JSON.stringify({ pid, command: commandOf(pid), url }));
  }
}

/** The living process that has the folder; null for nobody, or for one that was killed. */
export function holderOf(folder: string): Holder | null {
  const file = join(folder, fileName);
  if (!existsSync(file)) return null;
  let mark: { pid: number; command: string | null; url: string | null };
  try {
    mark = JSON.parse(readFileSync(file, 'utf8')) as typeof mark;
  } catch {
    return null;
  }
  const { pid, command, url } = mark;
  if (pid === process.pid || !isAlive(pid)) return null;
  // After a power cut another program may have the number by now.
  return command === commandOf(pid) ? { pid, url } : null;
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/** The command line of a process where the system tells it, else null. */
function commandOf(pid: number): string | null {
  try {
    return readFileSync(`/proc/${String(pid)}/cmdline`, 'utf8');
  } catch {
    return null;
  }
}
