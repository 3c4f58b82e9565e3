/** Numbers of a device that are missing between two of its readings. */
export interface SequenceHole {
  fromSeq: number;
  toSeq: number;
  /** Times of the readings before and after it [ms]. */
  afterMs: number;
  beforeMs: number;
}

export interface NumberedReading {
  t: number;
  deviceSeq: number;
}

/**
 * The holes in a device's numbers. A number smaller than the one before is a device that began anew;
 * how much it has lost then, nobody knows.
 *
 * @param readings of one point, by time
 */
export function sequenceHoles(readings: Iterable<NumberedReading>): SequenceHole[] {
  const holes: SequenceHole[] = [];
  let before: NumberedReading | null = null;
  for (const reading of readings) {
    if (before !== null && reading.deviceSeq > before.deviceSeq + 1) {
      holes.push({
        fromSeq: before.deviceSeq + 1,
        toSeq: reading.deviceSeq - 1,
        afterMs: before.t,
        beforeMs: reading.t,
      });
    }
    before = reading;
  }
  return holes;
}

/** Older holes are not filled any more: a gateway that buffers hands over within hours [ms]. */
const keptMs = 86_400_000;
/** Of one point; a device that numbers at random must not fill the memory. */
const mostHoles = 200;

/** The holes of one point as its readings come in, in any order. */
export class SequenceWatch {
  #newest: NumberedReading | null = null;
  #holes: SequenceHole[] = [];
  /** Numbers that have been missing and never came, holes given up included. */
  #lost = 0;
  /** How often the device has begun anew. */
  restarts = 0;

  take(reading: NumberedReading): void {
    const newest = this.#newest;
    if (newest === null) {
      this.#newest = reading;
    } else if (reading.t > newest.t) {
      if (reading.deviceSeq <= newest.deviceSeq) this.restarts += 1;
      else this.#holes.push(...sequenceHoles([newest, reading]));
      this.#newest = reading;
      this.#forget(reading.t - keptMs);
    } else {
      this.#fill(reading);
    }
  }

  get open(): readonly SequenceHole[] {
    return this.#holes;
  }

  /** Numbers that are missing now, and such as will not come any more. */
  get missing(): number {
    return this.#lost + this.#holes.reduce((sum, hole) => sum + widthOf(hole), 0);
  }

  #fill({ t, deviceSeq }: NumberedReading): void {
    this.#holes = this.#holes.flatMap((hole) => {
      const isIn =
        deviceSeq >= hole.fromSeq &&
        deviceSeq <= hole.toSeq &&
        t > hole.afterMs &&
        t < hole.beforeMs;
      if (!isIn) return [hole];
      const before = { ...hole, toSeq: deviceSeq - 1, beforeMs: t };
      const after = { ...hole, fromSeq: deviceSeq + 1, afterMs: t };
      return [before, after].filter((part) => part.fromSeq <= part.toSeq);
    });
  }

  #forget(untilMs: number): void {
    const kept = this.#holes.filter(({ beforeMs }) => beforeMs >= untilMs).slice(-mostHoles);
    for (const hole of this.#holes) if (!kept.includes(hole)) this.#lost += widthOf(hole);
    this.#holes = kept;
  }
}

function widthOf({ fromSeq, toSeq }: SequenceHole): number {
  return toSeq - fromSeq + 1;
}
