import type { ImpactNow, ImpactShown } from '@setwell/shared-models/api/points';
import { asFoundOff, type AsFoundOff } from '@setwell/shared-models/metrology/as-found';
import { calibrationsKnown, fittingsOf } from '@setwell/shared-models/metrology/fitting';
import { toleranceK, toleranceOfElement } from '@setwell/shared-models/metrology/tolerance';
import type { Calibration, Instrument } from '@setwell/shared-models/plant/plant-schema';
import type {
  CallCleared,
  CallRaised,
  ImpactReviewed,
  InstrumentCalibrated,
} from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { cutText } from '@setwell/shared-models/record/well-formed';
import { sha256Hex } from '../ledger/sha256.ts';
import type { Collected, Part } from '../part.ts';
import type { Route } from '../serve/route.ts';
import { json } from '../serve/server.ts';
import { fromTheBeginning, type ImpactReview } from './impact-review.ts';

/** Loads of one review that a screen is given; the blob has all of them. */
const mostListed = 200;
/** Reviews kept for the screen. */
const mostShown = 50;
/** One that broke off is tried again so long after [ms]: by then somebody has looked. */
const againMs = 3_600_000;

/**
 * A certificate whose as-found rows are out of limits starts a review by itself: every load since the
 * instrument was last known to be right, scored again by three hypotheses. It says what changed; what
 * that means for a load, people decide.
 */
export class ImpactReviews implements Part {
  readonly #collected: Collected;
  /** Certificates that ask for a review, by their entry; reviewed ones are taken out. */
  readonly #due = new Map<number, Entry<InstrumentCalibrated>>();
  #reviewed: Entry<ImpactReviewed>[] = [];
  #running: number | null = null;
  /** When those that broke off are tried again [ms]. */
  readonly #againMs = new Map<number, number>();
  #stopped = false;

  constructor(collected: Collected) {
    this.#collected = collected;
  }

  hear(entries: Entry[]): void {
    for (const entry of entries) {
      if (entry.kind === 'instrument-calibrated') {
        const calibrated = entry as Entry<InstrumentCalibrated>;
        if (calibrated.body.calibration.asFound !== undefined) this.#due.set(entry.n, calibrated);
      } else if (entry.kind === 'impact-reviewed') {
        const reviewed = entry as Entry<ImpactReviewed>;
        this.#due.delete(reviewed.body.calibrated);
        this.#reviewed = [...this.#reviewed, reviewed].slice(-mostShown);
      }
    }
  }

  /** One after the other: each takes a core while it lasts. */
  look(): void {
    if (this.#running !== null || this.#stopped) return;
    const nowMs = this.#collected.clock.nowMs();
    for (const [n, entry] of this.#due) {
      if (nowMs < (this.#againMs.get(n) ?? -Infinity)) continue;
      const off = this.#offOf(entry);
      if (off === null) this.#due.delete(n);
      else {
        void this.#review(n, entry, off);
        return;
      }
    }
  }

  stop(): void {
    this.#stopped = true;
  }

  routes(): Route[] {
    return [{ method: 'GET', path: '/impact', answer: () => json(this.#shown()) }];
  }

  async #review(n: number, entry: Entry<InstrumentCalibrated>, off: AsFoundOff): Promise<void> {
    this.#running = n;
    const { instrument } = entry.body;
    const { before, errorK } = off;
    const lastGood =
      before === null ? fromTheBeginning : { ms: Date.parse(before.date), by: before.certificate };
    try {
      const asked = { instrument, errorK, foundMs: entry.at, lastGood };
      this.#tell(entry, off, await this.#collected.impact(asked));
      this.#due.delete(n);
    } catch (error) {
      this.#brokenOff(entry, error);
    } finally {
      this.#running = null;
    }
  }

  /** Loads stand unreviewed: that is somebody's, until a later try has gone through. */
  #brokenOff({ n, body }: Entry<InstrumentCalibrated>, error: unknown): void {
    if (this.#stopped) return;
    const { clock, fold, append, log } = this.#collected;
    this.#againMs.set(n, clock.nowMs() + againMs);
    const fault = cutText(error instanceof Error ? error.message : String(error), 200);
    const { instrument, calibration } = body;
    log(`impact review of ${instrument}: ${fault}`);
    const call = callOf(n);
    if (fold.calls.has(call)) return;
    const raised: CallRaised = {
      ...{ kind: 'collector', station: null, load: null, point: null, who: 'engineer' },
      tooLateMs: null,
      values: {
        ...{ because: 'impact-failed', subject: instrument, instrument },
        ...{ certificate: calibration.certificate, fault },
      },
      evidence: [{ what: 'entry', n }],
    };
    append([{ kind: 'call-raised', by: 'collector', about: { call }, body: raised }]);
  }

  #tell(
    { n, about, body }: Entry<InstrumentCalibrated>,
    off: AsFoundOff,
    review: ImpactReview,
  ): void {
    if (this.#stopped) return;
    const { instrument, calibration } = body;
    const { errorK, lastGoodMs, lastGoodBy, foundMs, counts, loads } = review;
    const bytes = Buffer.from(JSON.stringify(loads));
    const told: ImpactReviewed = {
      ...{ instrument, certificate: calibration.certificate, calibrated: n },
      ...{ atC: off.atC, errorK, en: off.en, lastGoodMs, lastGoodBy, foundMs, counts },
      loads: { sha256: sha256Hex(bytes), bytes: bytes.length },
    };
    const kind = 'impact-reviewed' as const;
    this.#collected.append([{ kind, by: 'collector', about, body: told, blobs: [bytes] }]);
    const call = callOf(n);
    if (!this.#collected.fold.calls.has(call)) return;
    const cleared: CallCleared = { because: 'recovered' };
    const over = { kind: 'call-cleared', about: { call }, body: cleared } as const;
    this.#collected.append([{ ...over, by: 'collector' }]);
  }

  #offOf({ at, body }: Entry<InstrumentCalibrated>): AsFoundOff | null {
    const { instrument: id, calibration } = body;
    const known = this.#instrument(id, at);
    if (known === null) return null;
    const tolerance =
      known.instrument.element === undefined ? null : toleranceOfElement(known.instrument.element);
    return asFoundOff(calibration, known.calibrations, (atC) =>
      tolerance === null ? null : toleranceK(tolerance, atC),
    );
  }

  #instrument(
    id: string,
    atMs: number,
  ): { instrument: Instrument; calibrations: Calibration[] } | null {
    const { plant, fold } = this.#collected;
    for (const fittings of fittingsOf(plant, fold.instruments).values()) {
      const fitting = fittings.find(({ instrument }) => instrument.id === id);
      if (fitting === undefined) continue;
      return { instrument: fitting.instrument, calibrations: calibrationsKnown(fitting, atMs) };
    }
    return null;
  }

  /** Newest first, the running one before them. */
  #shown(): ImpactNow {
    const { ledger } = this.#collected;
    const running = this.#running === null ? undefined : this.#due.get(this.#running)?.body;
    const reviews = [...this.#reviewed].reverse().map(({ n, at, body }): ImpactShown => {
      const blob = ledger.blob(body.loads.sha256)?.toString('utf8') ?? '[]';
      const loads = JSON.parse(blob) as ImpactShown['loads'];
      return { ...body, n, atMs: at, loads: loads.slice(0, mostListed), all: loads.length };
    });
    return {
      running:
        running === undefined
          ? null
          : { instrument: running.instrument, certificate: running.calibration.certificate },
      reviews,
    };
  }
}

/** By the entry of the certificate: one call, however often it is tried. */
function callOf(calibrated: number): string {
  return `impact-failed.${String(calibrated)}`;
}
