import { readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { RunVersion } from '@setwell/shared-models/api/upkeep';
import { z } from 'zod';

/** What is not in the record and still has to be known after a restart. It may be lost: it is noted anew. */
export interface KeptNotes {
  /** When the disk was looked at, and how full it was [ms, 1]; oldest first. */
  disk: [number, number][];
  versions: RunVersion[];
  /** Batches of the journal that could not be read. */
  unreadable: number[];
}

const time = z.number().finite();
const notesSchema = z.strictObject({
  disk: z.array(z.tuple([time, z.number().min(0).max(1)])).max(2_000),
  versions: z
    .array(z.strictObject({ version: z.string(), commit: z.string().nullable(), sinceMs: time }))
    .max(100),
  unreadable: z.array(z.number().int().positive()).max(1_000).default([]),
});
const backupsSchema = z.strictObject({
  madeMs: time.nullable(),
  triedMs: time.nullable(),
});
export type BackupNotes = z.infer<typeof backupsSchema>;

const notesFile = 'upkeep.json';
const backupsFile = 'backups.json';

export function readNotes(dataDir: string): KeptNotes {
  return (
    notesSchema.safeParse(jsonOf(join(dataDir, notesFile))).data ?? {
      disk: [],
      versions: [],
      unreadable: [],
    }
  );
}

export function writeNotes(dataDir: string, notes: KeptNotes): void {
  replace(join(dataDir, notesFile), notes);
}

/** What `backup` and `restore` have noted; damaged notes count as none, so that somebody is called. */
export function readBackupNotes(dataDir: string): BackupNotes {
  const found = backupsSchema.safeParse(jsonOf(join(dataDir, backupsFile)));
  return found.data ?? { madeMs: null, triedMs: null };
}

export function noteBackup(dataDir: string, noted: Partial<BackupNotes>): void {
  replace(join(dataDir, backupsFile), { ...readBackupNotes(dataDir), ...noted });
}

function jsonOf(file: string): unknown {
  try {
    return JSON.parse(readFileSync(file, 'utf8'));
  } catch {
    return null;
  }
}

/** Whole or not at all: a power cut leaves the notes of before. */
function replace(file: string, value: object): void {
  writeFileSync(`${file}.new`, `${JSON.stringify(value)}\n`);
  renameSync(`${file}.new`, file);
}
