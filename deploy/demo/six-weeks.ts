import { atClock, firstRecordMs, minuteMs } from './calendar.ts';
import { heaterChanged, pastDays } from './past-plates.ts';
import { paintingDay } from './painting-days.ts';
import type { PastDay, PastMessage } from './past-readings.ts';

export const pastStartMs = atClock(pastDays.first, 3);

/** Invented person of the demo's ledger: maintenance. */
const maintenance = 'p-21';

/** One message as a broker would hand it over. */
interface Arrival {
  topic: string;
  payload: Buffer;
  retained: boolean;
  queued: boolean;
  act: string | null;
}

interface JobEntry {
  kind: 'work-planned' | 'work-done';
  by: string;
  about: { station: string; work: string };
  body: object;
  act: string;
}

/** Under whose name they come in. */
const loggerName = 'old logger';

/** What takes the readings, and what people enter beside them. */
interface Taker {
  accept(arrivals: Arrival[], by?: string): unknown;
  append(entries: JobEntry[]): unknown;
  step(): void;
}

export interface SixWeeks {
  collector: Taker;
  clock: { nowMs(): number; advance(durationMs: number): void };
  days: Iterable<PastDay> | AsyncIterable<PastDay>;
  seed: number;
  tell?: (share: number) => void;
}

/**
 * Hands the collector what the works' old logger kept of six weeks: readings of the two presses, day by
 * day, from before anybody named a load. They go the way of every reading that is brought in by hand; only
 * the clock is stepped a day at a time. The painting line is watched, and its loads judged, two days longer.
 */
export async function writeSixWeeks({
  collector,
  clock,
  days,
  seed,
  tell,
}: SixWeeks): Promise<void> {
  for await (const { day, commits } of days) {
    for (const { untilMs, publications } of paintingDay(day, seed)) {
      clock.advance(untilMs - clock.nowMs());
      collector.accept(publications.map(arrivalOf));
      collector.step();
    }
    clock.advance(Math.min(atClock(day + 1, 0), firstRecordMs) - clock.nowMs());
    recordWork(collector, clock.nowMs());
    for (const messages of commits) collector.accept(messages.map(arrivalOf), loggerName);
    collector.step();
    tell?.((day - pastDays.first) / (pastDays.last - pastDays.first));
  }
}

function arrivalOf({ topic, payload }: Pick<PastMessage, 'topic' | 'payload'>): Arrival {
  return { retained: false, queued: false, act: null, topic, payload: Buffer.from(payload) };
}

/** The job of the fifth week, as maintenance entered it. */
function recordWork(collector: Taker, nowMs: number): void {
  const { station, points, plannedMs, doneMs } = heaterChanged;
  const work = 'W-0031';
  const note = 'one of three rods without current';
  const job = { work, station, points, what: 'heater' as const };
  const about = { station, work };
  const by = maintenance;
  const dayBefore = nowMs - 24 * 60 * minuteMs;
  if (plannedMs > dayBefore && plannedMs <= nowMs) {
    const body = { ...job, note, because: 'seat, lower face is slow to heat' };
    collector.append([{ kind: 'work-planned', by, about, body, act: 'demo-work-planned' }]);
  }
  if (doneMs > dayBefore && doneMs <= nowMs) {
    const body = { ...job, note: 'rod 2 changed', doneMs };
    collector.append([{ kind: 'work-done', by, about, body, act: 'demo-work-done' }]);
  }
}
