import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';

/**
 * Who runs on this data already, or null. A mark left by a power cut names a process that is gone, or
 * whose number another program has by now.
 *
 * @param {string} markFile
 * @returns {{ pid: number, port: number } | null}
 */
export function runningThere(markFile) {
  try {
    const { pid, port } = JSON.parse(readFileSync(markFile, 'utf8'));
    const commandLine = readFileSync(`/proc/${Number(pid)}/cmdline`, 'utf8');
    return commandLine.includes('start.mjs') ? { pid: Number(pid), port: Number(port) } : null;
  } catch {
    return null;
  }
}

/** @param {string} markFile @param {number} port */
export function markRunning(markFile, port) {
  mkdirSync(dirname(markFile), { recursive: true });
  writeFileSync(markFile, JSON.stringify({ pid: process.pid, port }));
  process.once('exit', () => rmSync(markFile, { force: true }));
}
