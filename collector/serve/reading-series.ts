import type { ReadingSeries } from '@setwell/shared-models/api/collector';
import { minuteMs, minuteOf } from '../journal/reading-index.ts';
import type { JournalReader, Minute } from '../journal/shape.ts';
import type { InfluxHistory } from '../uplink/influx-history.ts';

type Step = ReadingSeries['steps'][number];

/** Where a point's readings are. */
export interface ReadingSources {
  journal: JournalReader;
  /** From when on the journal has a point's readings, and not their minutes alone [ms]. */
  keptFromMs(point: string): number;
  /** Null where readings are kept nowhere else. */
  history: Pick<InfluxHistory, 'steps'> | null;
}

export interface SeriesAsked {
  point: string;
  fromMs: number;
  toMs: number;
  points: number;
}

/**
 * A point's readings in equal steps: least, greatest, mean of each; null where nothing was read.
 *
 * Steps of a minute and more come from the minute roll-up, so that a month costs no more than a day.
 * Finer ones of readings that the journal has let go come from the long history, or else each from the
 * minute it lies in; the answer says so.
 */
export async function readingSeries(
  sources: ReadingSources,
  asked: SeriesAsked,
): Promise<ReadingSeries> {
  const { journal } = sources;
  const { point, fromMs, toMs } = asked;
  const steps = new Steps(asked);
  if (steps.stepMs >= minuteMs) {
    for (const minute of journal.minutesInSteps(point, fromMs, toMs, steps.stepMs)) {
      steps.add(minute);
    }
    return steps.series(null);
  }
  // A whole step comes from one of the two.
  const keptMs = steps.startAfter(sources.keptFromMs(point));
  const older = keptMs > fromMs ? await addOlder(sources, asked, steps, keptMs) : null;
  for (const { t, v } of journal.readings(point, Math.max(fromMs, keptMs), toMs).readings) {
    steps.add({ t, min: v, max: v, mean: v, count: 1 });
  }
  return steps.series(older);
}

/** What the journal has let go, up to before `untilMs`. */
async function addOlder(
  { journal, history }: ReadingSources,
  { point, fromMs, toMs }: SeriesAsked,
  steps: Steps,
  untilMs: number,
): Promise<ReadingSeries['older']> {
  const beforeMs = Math.min(untilMs, toMs + 1);
  const minutes = journal.minutes(point, minuteOf(fromMs), beforeMs - 1);
  const answer = await history?.steps(point, fromMs, beforeMs, steps.stepMs);
  if (answer?.kind === 'steps' && (answer.steps.length > 0 || minutes.length === 0)) {
    for (const step of answer.steps) steps.add(step);
    return { beforeMs, from: 'long-history', because: null };
  }
  for (const minute of minutes) steps.spread(minute, beforeMs);
  const because = answer?.kind === 'steps' ? 'it has no readings of that time' : answer?.because;
  return { beforeMs, from: 'minutes', because: because ?? null };
}

class Steps {
  readonly stepMs: number;
  readonly #asked: SeriesAsked;
  readonly #sums = new Map<number, { min: number; max: number; sum: number; count: number }>();

  constructor(asked: SeriesAsked) {
    const { fromMs, toMs, points } = asked;
    this.#asked = asked;
    this.stepMs = Math.max(1, Math.ceil((toMs - fromMs) / points));
  }

  /** Start of the first step that begins at `ms` or later. */
  startAfter(ms: number): number {
    const { fromMs } = this.#asked;
    return fromMs + Math.max(0, Math.ceil((ms - fromMs) / this.stepMs)) * this.stepMs;
  }

  add(minute: Minute): void {
    this.#addAt(Math.floor((minute.t - this.#asked.fromMs) / this.stepMs), minute);
  }

  /** To each step that a minute touches: all that is known of any moment in it. */
  spread(minute: Minute, beforeMs: number): void {
    const { fromMs } = this.#asked;
    const first = Math.max(0, Math.floor((minute.t - fromMs) / this.stepMs));
    const endMs = Math.min(minute.t + minuteMs, beforeMs);
    for (let place = first; fromMs + place * this.stepMs < endMs; place += 1) {
      this.#addAt(place, minute);
    }
  }

  #addAt(place: number, { min, max, mean, count }: Minute): void {
    const step = this.#sums.get(place);
    if (step === undefined) {
      this.#sums.set(place, { min, max, sum: mean * count, count });
      return;
    }
    step.min = Math.min(step.min, min);
    step.max = Math.max(step.max, max);
    step.sum += mean * count;
    step.count += count;
  }

  series(older: ReadingSeries['older']): ReadingSeries {
    const { point, fromMs, toMs } = this.#asked;
    const last = Math.floor((toMs - fromMs) / this.stepMs);
    const steps = Array.from({ length: last + 1 }, (_, place): Step => {
      const step = this.#sums.get(place);
      const t = fromMs + place * this.stepMs;
      if (step === undefined) return { t, min: null, max: null, mean: null };
      return { t, min: step.min, max: step.max, mean: step.sum / step.count };
    });
    return { point, fromMs, toMs, steps, older };
  }
}
