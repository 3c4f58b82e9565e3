import { X509Certificate } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import type { KeptCertificate, PagesKept, Upkeep } from '@setwell/shared-models/api/upkeep';
import { z } from 'zod';
import { spaceLimits } from '../../journal/free-space.ts';
import type { Collected } from '../../part.ts';
import { Refused } from '../refused.ts';
import { readBackupNotes, readNotes, writeNotes, type KeptNotes } from './kept-notes.ts';

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
/** The disk's growth is the mean of a month: weekends and an update's files even out [ms]. */
const growthOverMs = 30 * dayMs;
/** Ten years ahead is no forecast any more [ms]. */
const farMs = 3650 * dayMs;
/** Gone for so long, the broker has not only been started anew [ms of wall time]. */
const brokerAwayMs = 60_000;
const versionsKept = 20;

const pagesSchema = z.strictObject({
  version: z.string().min(1).max(60),
  walls: z.number().int().min(0).max(1_000),
  unseen: z
    .array(
      z.strictObject({
        id: z.string().min(1).max(40),
        name: z.string().min(1).max(60),
        minutes: z.number().int().min(0),
      }),
    )
    .max(1_000),
});

/** Keeps an eye on what nobody looks at for years: disk, backups, certificates, walls, versions. */
export class UpkeepWatch {
  readonly #collected: Collected;
  readonly #notes: KeptNotes;
  #certificates: KeptCertificate[] = [];
  #pages: PagesKept | null = null;

  constructor(collected: Collected) {
    this.#collected = collected;
    this.#notes = readNotes(collected.dataDir);
  }

  /** Notes what runs from now on, and looks at what is looked at seldom. */
  start(): void {
    const { version, commit, clock, journal } = this.#collected;
    // What was damaged before the restart is asked for once more: it is no better now.
    for (const seq of this.#notes.unreadable) journal.batchesAfter(seq - 1, 1);
    const { versions } = this.#notes;
    const [before] = versions;
    if (before?.version !== version || before.commit !== commit) {
      versions.unshift({ version, commit, sinceMs: clock.nowMs() });
      versions.splice(versionsKept);
    }
    this.lookSeldom();
  }

  /** Once an hour: how full the disk is, and when certificates end. */
  lookSeldom(): void {
    const { clock, store, dataDir, journal } = this.#collected;
    const nowMs = clock.nowMs();
    const kept = this.#notes.disk.filter(([ms]) => ms > nowMs - growthOverMs && ms < nowMs);
    this.#notes.disk = [...kept, [nowMs, store.used()]];
    this.#notes.unreadable = [...journal.unreadable()];
    writeNotes(dataDir, this.#notes);
    this.#certificates = this.#files().map(({ what, file }) => ({ what, endsMs: endOf(file) }));
  }

  /** @throws Refused where a dashboard says something else than it should */
  hearPages(body: unknown): void {
    const told = pagesSchema.safeParse(body);
    if (!told.success) {
      const [issue] = told.error.issues;
      const field = issue?.path.join('.') ?? '';
      throw new Refused(422, 'bad-input', field, 'something else', issue?.message ?? 'PagesKept');
    }
    this.#pages = told.data;
  }

  now(): Upkeep {
    return {
      recording: this.#recording(),
      disk: this.#disk(),
      backup: readBackupNotes(this.#collected.dataDir),
      certificates: this.#certificates,
      pages: this.#pages,
      versions: this.#notes.versions,
    };
  }

  #recording(): Upkeep['recording'] {
    const { pointsNow, bus, clock, clockSetting, store, fold } = this.#collected;
    // What a station at rest does not say is missed by nobody.
    const points = pointsNow().filter(({ station }) => !fold.services.has(station ?? ''));
    const known = points.filter(({ last }) => last !== null);
    const heard = known.filter(({ silentSinceMs }) => silentSinceMs === null).length;
    const newestMs = known.reduce<number | null>(
      (newest, { last }) => Math.max(newest ?? 0, last?.receivedMs ?? 0),
      null,
    );
    const { connected, sinceMs, url } = bus();
    const awayMs = sinceMs === null ? 0 : clock.nowMs() - sinceMs;
    const isAway = url !== '' && !connected && awayMs > brokerAwayMs * clockSetting.rate;
    const because =
      store.used() >= spaceLimits.refuse
        ? 'disk'
        : isAway
          ? 'broker'
          : known.length > 0 && heard === 0
            ? 'silent'
            : null;
    return { newestMs, heard, points: points.length, because };
  }

  /** By the growth from the oldest look that is kept to now. */
  #disk(): Upkeep['disk'] {
    const { clock, store } = this.#collected;
    const nowMs = clock.nowMs();
    const [first] = this.#notes.disk;
    if (first === undefined || nowMs - first[0] < dayMs) return { endsMs: null, isKnown: false };
    const used = store.used();
    const sharePerMs = (used - first[1]) / (nowMs - first[0]);
    const leftMs = (spaceLimits.drop - used) / sharePerMs;
    const ends = sharePerMs > 0 && leftMs < farMs;
    return { endsMs: ends ? nowMs + Math.max(0, leftMs) : null, isKnown: true };
  }

  #files(): { what: KeptCertificate['what']; file: string }[] {
    const { plant, plantFile, pagesCertificate } = this.#collected;
    const { broker } = plant;
    const beside = (file: string) => resolve(dirname(plantFile), file);
    const found: { what: KeptCertificate['what']; file: string }[] = [];
    if (pagesCertificate !== null) found.push({ what: 'pages', file: pagesCertificate });
    if ('certificateFile' in broker && broker.certificateFile !== undefined) {
      found.push({ what: 'broker', file: beside(broker.certificateFile) });
    }
    if ('caFile' in broker && broker.caFile !== undefined) {
      found.push({ what: 'broker-authority', file: beside(broker.caFile) });
    }
    if ('clientsCaFile' in broker && broker.clientsCaFile !== undefined) {
      found.push({ what: 'equipment-authority', file: beside(broker.clientsCaFile) });
    }
    return found;
  }
}

function endOf(file: string): number | null {
  try {
    const endsMs = Date.parse(new X509Certificate(readFileSync(file)).validTo);
    return Number.isNaN(endsMs) ? null : endsMs;
  } catch {
    return null;
  }
}
