import type { LotFiled } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { isRelease } from '@setwell/shared-models/record/lot-file';
import type { Collected, Part } from '../part.ts';
import { listed, lotListing } from './lot-listing.ts';

interface Filed {
  revision: number;
  n: number;
}

interface Due {
  because: LotFiled['because'];
  after: number;
}

/**
 * Fixes a lot's file at its release, and anew whenever a load that it cites has another account: which
 * accounts were released, and every entry of the lot up to then, stand in an entry of their own.
 */
export class LotFiling implements Part {
  readonly #collected: Collected;
  readonly #filed = new Map<string, Filed>();
  readonly #due = new Map<string, Due>();

  constructor(collected: Collected) {
    this.#collected = collected;
  }

  hear(entries: Entry[]): void {
    for (const entry of entries) {
      const { kind, n, body, about } = entry;
      for (const lot of about.lots ?? []) {
        if (kind === 'lot-filed') {
          this.#filed.set(lot, { revision: (body as LotFiled).revision, n });
          this.#due.delete(lot);
        } else if (isRelease(entry)) {
          this.#due.set(lot, { because: 'released', after: n });
        } else if (kind === 'load-amended' && this.#filed.has(lot)) {
          this.#due.set(lot, { because: 'load-changed', after: n });
        }
      }
    }
  }

  /** Filed by the entry's own turn, not within it: every follower hears entries in one order. */
  look(): void {
    if (this.#due.size === 0) return;
    const { ledger, lots, append } = this.#collected;
    const proposals = [...this.#due].map(([lot, due]) => {
      const revision = (this.#filed.get(lot)?.revision ?? 0) + 1;
      const whole: LotFiled = { lot, revision, ...due, ...lotListing(ledger, lots, lot) };
      const { body, blobs } = listed(whole);
      const about = { lots: [lot] };
      return { kind: 'lot-filed' as const, by: 'collector', about, body, blobs };
    });
    append(proposals);
  }
}
