import type { Station } from '../plant/plant.ts';
import type { LimitApproved } from '../record/bodies.ts';
import type { Entry } from '../record/entry.ts';
import { isRate } from './proposal.ts';
import type { LimitKey } from './proposal.ts';

/** A limit that somebody has taken over from the plant's own data. */
export interface ApprovedLimit extends LimitApproved {
  by: string;
  /** Entry that says so, and when [ms]: it counts for loads that start later. */
  n: number;
  atMs: number;
}

/** Limits approved by people, by station and in the order of the ledger. */
export class StationLimits {
  readonly #approved = new Map<string, ApprovedLimit[]>();

  take({ n, by, at, body }: Entry): void {
    const limit = { ...(body as LimitApproved), by, n, atMs: at };
    const known = this.#approved.get(limit.station);
    if (known === undefined) this.#approved.set(limit.station, [limit]);
    else known.push(limit);
  }

  /** The newest approval of a limit; null: none is. */
  newest(station: string, key: LimitKey): ApprovedLimit | null {
    return (
      this.#approved
        .get(station)
        ?.filter((each) => each.key === key)
        .at(-1) ?? null
    );
  }

  /** A station with the envelopes that counted at a time. */
  at(station: Station, atMs: number): Station {
    const counted: Partial<Record<LimitKey, number>> = {};
    for (const limit of this.#approved.get(station.id) ?? []) {
      if (isRate(limit.key) && limit.atMs <= atMs) counted[limit.key] = limit.value;
    }
    return { ...station, ...counted };
  }
}
