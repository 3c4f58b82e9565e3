import { readFileSync } from 'node:fs';

/** Of this process since then, by the processor's own clock: neighbours on the machine are no part of it [s]. */
export function processorSince(before: NodeJS.CpuUsage): number {
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1e6;
}

interface Ticks {
  /** Of the process itself [s]. */
  ownS: number;
  /** Of those that it has started and that have ended [s]. */
  endedS: number;
}

/** @source proc(5), /proc/pid/stat, fields 14 to 17, in hundredths of a second */
export function ticksOf(pid: number): Ticks {
  const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
  const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
  const [user = 0, system = 0, endedUser = 0, endedSystem = 0] = fields.slice(11, 15).map(Number);
  return { ownS: (user + system) / 100, endedS: (endedUser + endedSystem) / 100 };
}

/** Processes that a process has started and that have not ended. */
export function childrenOf(pid: number): number[] {
  const children = readFileSync(`/proc/${pid}/task/${pid}/children`, 'utf8').trim();
  return children === '' ? [] : children.split(' ').map(Number);
}

/** A process with everything it has started [MB]. */
export function residentMbOf(pid: number): number {
  const status = readFileSync(`/proc/${pid}/status`, 'utf8');
  const ownKb = Number(/VmRSS:\s+(\d+)/.exec(status)?.[1] ?? 0);
  return childrenOf(pid).reduce((sum, child) => sum + residentMbOf(child), ownKb / 1024);
}
