import { existsSync, mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { expect, it, onTestFinished } from 'vitest';
import type * as spaces from '@setwell/collector/journal/free-space';
import type * as journals from '@setwell/collector/journal/journal';
import { until } from '../fixtures/until.ts';

/** As built: a thread begins with a file that runs by itself. */
const built = new URL('../../collector/dist/journal/', import.meta.url);

type Journals = typeof journals;
/** Pages in the log, and how many of them are in the file. */
interface LogState {
  log: number;
  checkpointed: number;
}
type Spaces = typeof spaces;

const megabyte = 1_000_000;

it('has a thread move a long log into its file, begins the log anew, and leaves none behind', async () => {
  const { openWriter } = (await import(new URL('journal.js', built).href)) as Journals;
  const { FreeSpace } = (await import(new URL('free-space.js', built).href)) as Spaces;
  const folder = mkdtempSync(join(tmpdir(), 'long-log-'));
  const path = join(folder, 'journal.db');
  const lines: string[] = [];
  const journal = openWriter(path, new FreeSpace(path), (line) => lines.push(line));
  const look = new Database(path);
  const log = look.prepare<[], LogState>('PRAGMA wal_checkpoint(NOOP)');
  onTestFinished(async () => {
    look.close();
    await journal.stop();
    rmSync(folder, { recursive: true, force: true });
  });
  const fault = { topic: 'plant/x', code: 'not-json', found: '', expected: '' };
  const reject = { ...fault, payload: Buffer.alloc(4096) };
  const rejects = Array.from({ length: 5000 }, () => reject);
  // Each is longer than what the thread is asked for, and shorter than what the writer moves itself.
  for (let round = 1; round <= 4; round += 1) {
    journal.append({ receivedMs: 0, items: [], rejects });
    await until(() => log.get()?.log === log.get()?.checkpointed);
  }
  expect(statSync(path).size).toBeGreaterThan(80 * megabyte);
  // One that went on would be as long as all of them together.
  expect(statSync(`${path}-wal`).size).toBeLessThan(40 * megabyte);
  expect(lines).toEqual([]);
  look.close();
  await journal.stop();
  expect(existsSync(`${path}-wal`)).toBe(false);
});
