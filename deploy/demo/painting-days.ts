import { atClock, minuteMs } from './calendar.ts';
import { instruments } from './instruments.ts';
import { Controllers, type Publication } from './payload.ts';
import { loadsOfDay } from './schedule.ts';
import { eventsOf, type Happening } from './works.ts';

/** Wednesday and Thursday: one lot was watched on trial through all of its eight coats. */
const paintingDays = [-2, -1];
/** From before a part comes onto the belt until after it has left it [ms]. */
const around = { beforeMs: 15 * minuteMs, afterMs: 5 * minuteMs };
/** Read so often [s], and taken in and judged so often [ms]: later than a minute would be a past of coming late. */
const readEveryS = 30;
const togetherMs = minuteMs;

/** What happens together, up to a moment. */
export interface Together {
  untilMs: number;
  publications: Publication[];
}

/** What the oven said of the first lot's bakes on such a day; other days are empty. */
export function* paintingDay(day: number, seed: number): Generator<Together> {
  if (!paintingDays.includes(day)) return;
  const onBelt = loadsOfDay(day, seed).filter(({ station }) => station === 'oven-1');
  const loads = onBelt.filter(({ lot }) => lot === onBelt[0]?.lot);
  const isWatched = (ms: number) =>
    loads.some(
      ({ startMs, endMs }) => ms > startMs - around.beforeMs && ms < endMs + around.afterMs,
    );
  const said = loads.flatMap(eventsOf).sort((a, b) => a.t - b.t);
  const read = instruments([], { seed, pressEveryS: readEveryS }).filter(({ point }) =>
    /^o1-(z|speed)/.test(point),
  );
  const controllers = new Controllers();
  const endMs = atClock(day, 22);
  let ms = atClock(day, 5.5);
  while (ms < endMs) {
    const untilMs = ms + togetherMs;
    const publications: Publication[] = [];
    const tell = (happening: Happening) => publications.push(...controllers.write(happening));
    for (; ms < untilMs; ms += readEveryS * 1000) {
      while ((said[0]?.t ?? Infinity) <= ms) tell(said.shift() as (typeof said)[number]);
      if (!isWatched(ms)) continue;
      for (const { station, point, read: of } of read) {
        const v = of(ms);
        if (v !== null) tell({ kind: 'reading', station, point, t: ms, v });
      }
    }
    if (publications.length > 0) yield { untilMs, publications };
  }
}
