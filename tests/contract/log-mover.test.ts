import { EventEmitter } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Worker } from 'node:worker_threads';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { checkChain } from '@setwell/collector/journal/chain';
import type { Moved } from '@setwell/collector/journal/log-mover';
import { openJournal, type Journal, type NewBatch } from '@setwell/collector/journal/journal';
import type { Reading } from '@setwell/collector/journal/shape';

/** Stands in for the thread: it moves and answers when the test says. */
class Thread extends EventEmitter {
  readonly db = new Database(path);
  asked = 0;

  postMessage(): void {
    this.asked += 1;
  }

  answer(): void {
    this.tell(this.move());
  }

  move(): Moved {
    this.asked -= 1;
    const state = this.db.prepare<[], LogState>('PRAGMA wal_checkpoint(PASSIVE)').get()!;
    return { checkpointed: state.checkpointed };
  }

  tell(moved: Moved): void {
    this.emit('message', moved);
  }

  /** @returns how often it was asked before it had peace, 100 at most */
  answerAll(): number {
    let moves = 0;
    for (; this.asked > 0 && moves < 100; moves += 1) this.answer();
    return moves;
  }

  /** Pages that are in the log alone. */
  left(): number {
    const state = this.db.prepare<[], LogState>('PRAGMA wal_checkpoint(NOOP)').get()!;
    return state.log - state.checkpointed;
  }

  unref(): void {}
}

interface LogState {
  log: number;
  checkpointed: number;
}

let folder: string;
let path: string;
let journal: Journal;
let thread: Thread;
let lines: string[];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'log-mover-'));
  path = join(folder, 'journal.db');
  journal = openJournal(path);
  thread = new Thread();
  lines = [];
  journal.moveLogBy(thread as unknown as Worker, (line) => lines.push(line));
});

afterEach(() => {
  vi.restoreAllMocks();
  thread.db.close();
  journal.close();
  rmSync(folder, { recursive: true });
});

/** Longer than what the thread is asked for, and shorter than what the writer moves itself. */
function long(): NewBatch {
  const fault = { topic: 'plant/x', code: 'not-json', found: '', expected: '' };
  const rejects = Array.from({ length: 4200 }, () => ({ ...fault, payload: Buffer.alloc(4096) }));
  return { receivedMs: 0, items: [], rejects };
}

function reading(t: number): Reading {
  return { point: 'p', t, v: 1, quality: 'good', deviceSeq: null, stamped: false, ahead: false };
}

it('goes on storing where the disk refuses the last pages of the log, and says so', () => {
  journal.append(long());
  vi.spyOn(Database.prototype, 'pragma').mockImplementation(() => {
    throw new Database.SqliteError('database or disk is full', 'SQLITE_FULL');
  });
  thread.answer();
  expect(lines).toEqual([`${path}: its log is not moved into it: database or disk is full`]);
  expect(journal.append({ receivedMs: 0, items: [reading(1)], rejects: [] }).places).toEqual([0]);
});

it('says what went wrong in the thread', () => {
  journal.append(long());
  thread.tell({ fault: 'disk I/O error' });
  expect(lines).toEqual([`${path}: its log is not moved into it: disk I/O error`]);
});

it('asks the thread once for each step of the log while a reader holds it', () => {
  journal.append(long());
  thread.answerAll();
  const reader = new Database(path);
  reader.exec('BEGIN; SELECT count(*) FROM reject');
  journal.append(long());
  expect(thread.answerAll()).toBe(1);
  journal.append({ receivedMs: 0, items: [reading(1)], rejects: [] });
  expect(thread.answerAll()).toBe(0);
  journal.append(long());
  expect(thread.answerAll()).toBe(1);
  reader.close();
  journal.append(long());
  expect(thread.answerAll()).toBeGreaterThan(0);
  expect(thread.left()).toBe(0);
  // It begins anew, and its steps with it.
  journal.append(long());
  expect(thread.answerAll()).toBe(1);
  expect(thread.left()).toBe(0);
});

it('has the thread move what came between its work and its word', () => {
  journal.append(long());
  const moved = thread.move();
  // The log begins anew with it, as long as before.
  journal.append(long());
  thread.tell(moved);
  expect(thread.answerAll()).toBe(1);
  expect(thread.left()).toBe(0);
});

it('keeps what is stored, and its chain, where the thread cannot be asked', () => {
  journal.append({ receivedMs: 0, items: [reading(1)], rejects: [] });
  vi.spyOn(thread, 'postMessage').mockImplementation(() => {
    throw new Error('out of memory');
  });
  const items = [reading(2)];
  expect(() => journal.append({ ...long(), items })).toThrow('out of memory');
  expect(journal.head()).toBe(2);
  expect(journal.append({ receivedMs: 0, items: [reading(3)], rejects: [] }).batch?.seq).toBe(3);
  expect(checkChain(path)).toEqual({ head: 3, faults: [] });
});

it('says that the thread has ended, and has the writer move the log from then on', () => {
  journal.append(long());
  thread.emit('error', new Error('out of memory'));
  const told = 'the thread that moves its log has ended, commits do now: out of memory';
  expect(lines).toEqual([`${path}: ${told}`]);
  journal.append(long());
  expect(thread.left()).toBe(0);
  expect(thread.asked).toBe(1);
});
