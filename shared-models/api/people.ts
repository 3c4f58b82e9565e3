/** The five jobs of a plant; a person may have several. */
export const jobs = ['shift-lead', 'maintenance', 'engineer', 'auditor', 'administrator'] as const;
export type Job = (typeof jobs)[number];

/**
 * What may be done, from least to most:
 * `open` needs nobody (signing in itself) · `look` reads what a hall shows · `floor` starts, ends,
 * acknowledges, holds · `maintain` touches points and instruments · `decide` disposes of parts ·
 * `engineer` sets windows and corrects records · `audit` reads names, trail and exports ·
 * `administer` lets people and devices in.
 */
export const rights = [
  'open',
  'look',
  'floor',
  'maintain',
  'decide',
  'engineer',
  'audit',
  'administer',
] as const;
export type Right = (typeof rights)[number];

/** A person as the plant knows him. */
export interface Person {
  /** `p-17`: what the ledger says; the name stays in one file, where it can be erased. */
  id: string;
  name: string;
  jobs: Job[];
  /** Null: every hall. */
  halls: string[] | null;
  /** An account of an auditor ends by itself [ms]. */
  endsMs: number | null;
  revokedMs: number | null;
}

/** A wall, or a program with a token. */
export interface Device {
  id: string;
  kind: 'screen' | 'token';
  name: string;
  hall: string | null;
  scopes: string[];
  seenMs: number | null;
  revokedMs: number | null;
}

/** `GET /api/v1/me`: whom the server takes this browser for. */
export interface Me {
  /** `founder`: nobody may administer yet, and this machine alone can reach the pages. */
  mode: 'demo' | 'founder' | 'people';
  who: {
    id: string;
    name: string;
    jobs: Job[];
    kind: 'full' | 'hand' | 'screen' | 'token';
  } | null;
  hall: string | null;
  rights: Right[];
  /** What the plant's own sign-in service is called; null where it has none. */
  signOn: string | null;
  /** Pages come without TLS from another machine: every page says so. */
  plainHttp: boolean;
}

/** `GET /api/v1/who`: numbers as jobs, for screens; with names for those who may read them. */
export type WhoIs = Record<string, { jobs: Job[]; name: string | null }>;
