import { existsSync, statfsSync } from 'node:fs';
import { release } from 'node:os';
import { SetupFailure } from './failure.mjs';

const leastNodeMajor = 20;
/** Packages, build and the demo's first days take about 0.6 GB; a full disk must not cut one of them short. */
const leastFreeBytes = 1e9;
/** Nothing here is older; a machine without a battery clock wakes in 1970 or at its firmware's date. */
const leastClockMs = Date.UTC(2024, 0, 1);

/**
 * What of this machine stands in the way, or null.
 *
 * @param {{ nodeVersion: string, freeBytes: number, nowMs: number }} machine
 */
export function machineFault({ nodeVersion, freeBytes, nowMs }) {
  if (Number.parseInt(nodeVersion, 10) < leastNodeMajor)
    return new SetupFailure(
      `Node ${nodeVersion} is too old: Setwell needs Node ${leastNodeMajor} or newer.`,
      'nothing was changed.',
      'install Node 20 or newer (https://nodejs.org/en/download), then start again.',
    );
  if (nowMs < leastClockMs)
    return new SetupFailure(
      `this machine's clock says ${new Date(nowMs).toISOString().slice(0, 10)}: every record would carry a wrong time.`,
      'nothing was changed.',
      'set the clock (sudo timedatectl set-ntp true), then start again.',
    );
  if (freeBytes < leastFreeBytes)
    return new SetupFailure(
      `${gigabytes(freeBytes)} GB free on this disk; 1 GB is needed.`,
      'nothing was changed; records that exist stay as they are.',
      'make room, or clone into a folder on a larger disk.',
    );
  return null;
}

/** @param {string} folder */
export function thisMachine(folder) {
  const disk = statfsSync(folder);
  return {
    nodeVersion: process.versions.node,
    freeBytes: disk.bavail * disk.bsize,
    nowMs: Date.now(),
  };
}

/** Whether nobody can look at a page on this machine itself: then the address alone would not help. */
export function isHeadless(env = process.env) {
  if (process.platform !== 'linux' || /microsoft/i.test(release())) return false;
  return (
    !env['DISPLAY'] && !env['WAYLAND_DISPLAY'] && !existsSync('/run/systemd/seats/seat0-graphical')
  );
}

/** @param {number} bytes */
export function gigabytes(bytes) {
  return bytes < 10e9 ? (bytes / 1e9).toFixed(1) : String(Math.round(bytes / 1e9));
}
