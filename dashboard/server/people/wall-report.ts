import type { PagesKept } from '@setwell/shared-models/api/upkeep';
import type { CollectorClient } from '../collector-client.ts';
import { CollectorError } from '../collector-client.ts';
import type { PeopleDb } from './people-db.ts';

/** A wall asks every half minute; four times missed, it is dark, frozen or unplugged [ms]. */
const unseenMs = 120_000;

export interface WallReportParts {
  db: PeopleDb;
  client: CollectorClient;
  version: string;
  nowMs: () => number;
  /** Often enough for a wall that is missed for two minutes [ms]. */
  everyMs: number;
}

/** Tells the collector which walls have not been seen, for it alone can call somebody. @returns ends it */
export function reportWalls(parts: WallReportParts): () => void {
  const tell = (): void => {
    parts.client.post('/health/pages', wallsNow(parts)).catch((error: unknown) => {
      // It is away, or not there yet: the next time tells all of it again.
      if (!(error instanceof CollectorError)) throw error;
    });
  };
  tell();
  const timer = setInterval(tell, parts.everyMs);
  return () => clearInterval(timer);
}

function wallsNow({
  db,
  version,
  nowMs,
}: Pick<WallReportParts, 'db' | 'version' | 'nowMs'>): PagesKept {
  const now = nowMs();
  const walls = db.devices().filter(({ kind, revokedMs }) => kind === 'screen' && !revokedMs);
  const unseen = walls.flatMap(({ id, name, seenMs }) =>
    // One that was never seen has just been paired: it takes its token with its next question.
    seenMs !== null && now - seenMs > unseenMs
      ? [{ id, name, minutes: Math.floor((now - seenMs) / 60_000) }]
      : [],
  );
  return { version, walls: walls.length, unseen };
}
