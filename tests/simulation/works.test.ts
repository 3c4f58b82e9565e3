import { describe, expect, it } from 'vitest';
import { atClock, demoStartMs, hourMs, minuteMs } from '@setwell/deploy/demo/calendar';
import { silentPoint } from '@setwell/deploy/demo/instruments';
import { loadsOfDay } from '@setwell/deploy/demo/schedule';
import { eventsBefore, Works, type Happening } from '@setwell/deploy/demo/works';

const seed = 1;
const monday = 3;
/** On Mondays a closing is opened before its time. */
const tuesday = 4;

function happenings(works: Works, toMs: number): Happening[] {
  const all: Happening[] = [];
  works.advance(toMs, (happening) => all.push(happening));
  return all;
}

function lastReadings(all: Happening[]): Map<string, number> {
  return new Map(all.flatMap((one) => (one.kind === 'reading' ? [[one.point, one.v]] : [])));
}

describe('the demo works', () => {
  it('begins on Monday 2 March 2026 at 09:40 in Copenhagen, with all stations at work', () => {
    expect(new Date(demoStartMs).toISOString()).toBe('2026-03-02T08:40:00.000Z');
    const running = eventsBefore(demoStartMs, seed)
      .filter(({ event, load }) => event === 'load-start' && load.endMs > demoStartMs)
      .map(({ load }) => load.station);
    expect(new Set(running)).toEqual(
      new Set(['press-1', 'press-2', 'rack-a', 'oven-1', 'store-1', 'bench-1']),
    );
  });

  it('tells after a restart only of loads that its records know', () => {
    const store = eventsBefore(demoStartMs, seed).filter(({ station }) => station === 'store-1');
    expect(store.map(({ event, t }) => [event, new Date(t).toISOString()])).toEqual([
      ['load-start', '2026-02-27T20:00:00.000Z'],
    ]);
  });

  it('keeps its clock times through the change to summer time', () => {
    const beforeChange = 28;
    const afterChange = 31;
    expect(new Date(atClock(beforeChange, 6)).toISOString()).toBe('2026-03-27T05:00:00.000Z');
    expect(new Date(atClock(afterChange, 6)).toISOString()).toBe('2026-03-30T04:00:00.000Z');
  });

  it('says the same twice, and something else with another seed', () => {
    const run = (withSeed: number): Happening[] =>
      happenings(Works.at(demoStartMs, { seed: withSeed, pressEveryS: 1 }), demoStartMs + minuteMs);
    expect(run(seed)).toEqual(run(seed));
    expect(run(seed + 1)).not.toEqual(run(seed));
  });

  it('stands after a restart where it stood without one', () => {
    const later = demoStartMs + 2 * hourMs;
    const through = Works.at(demoStartMs, { seed, pressEveryS: 1 });
    through.advance(later, () => {});
    const again = Works.at(later, { seed, pressEveryS: 1 });
    const before = lastReadings(happenings(through, later + minuteMs));
    const after = lastReadings(happenings(again, later + minuteMs));
    for (const [point, v] of before) expect(after.get(point), point).toBeCloseTo(v, 0);
  });

  it('has at every moment of a shift a load on each press, but for the minutes between two closings', () => {
    for (const station of ['press-1', 'press-2']) {
      const loads = loadsOfDay(tuesday, seed).filter((load) => load.station === station);
      const startMs = loads[0]?.startMs ?? 0;
      for (let ms = startMs; ms < startMs + 7 * hourMs; ms += minuteMs) {
        const near = loads.some((load) => load.startMs <= ms + 3 * minuteMs && load.endMs >= ms);
        expect(near, `${station} at ${new Date(ms).toISOString()}`).toBe(true);
      }
    }
  });

  it('never puts two loads into one zone of a press, a bay or a shelf at once', () => {
    const days = Array.from({ length: 20 }, (_, i) => monday + i);
    // One after another they lie on the belt.
    const loads = days
      .flatMap((day) => loadsOfDay(day, seed))
      .filter(({ station }) => station !== 'oven-1');
    const endOf = new Map<string, number>();
    for (const { station, opening, zones, startMs, endMs, load } of loads)
      for (const zone of zones) {
        const place = `${station}/${opening ?? ''}/${zone}`;
        expect(endOf.get(place) ?? 0, `${load} in ${place}`).toBeLessThanOrEqual(startMs);
        endOf.set(place, endMs);
      }
    expect(new Set(loads.map(({ load }) => load)).size).toBe(loads.length);
  });

  it('dips when cold boards come in, comes back in five minutes, and leaves the upper left 8 K low', () => {
    const closedMs = loadsOfDay(monday, seed).find(({ load }) => load === 'P1-00231')?.startMs ?? 0;
    const works = Works.at(closedMs, { seed, pressEveryS: 1 });
    const dip = happenings(works, closedMs + 3 * minuteMs);
    const least = (point: string): number =>
      Math.min(
        ...dip.flatMap((one) => (one.kind === 'reading' && one.point === point ? [one.v] : [])),
      );
    expect(138 - least('p1-1r')).toBeGreaterThan(9);
    expect(138 - least('p1-1r')).toBeLessThan(15);
    const back = lastReadings(happenings(works, closedMs + 5 * minuteMs));
    expect(back.get('p1-1r')).toBeGreaterThan(136);
    const settled = lastReadings(happenings(works, closedMs + 20 * minuteMs));
    const weakK = (settled.get('p1-1r') ?? 0) - (settled.get('p1-1l') ?? 0);
    expect(weakK).toBeGreaterThan(6.5);
    expect(weakK).toBeLessThan(9.5);
  });

  it('leaves one sensor out at every moment, and lets it come back after half an hour', () => {
    expect(silentPoint(demoStartMs)).toBe('o1-z2');
    expect(silentPoint(demoStartMs - 10 * minuteMs)).not.toBe('o1-z2');
    expect(silentPoint(demoStartMs + 30 * minuteMs)).not.toBe('o1-z2');
    const works = Works.at(demoStartMs, { seed, pressEveryS: 1 });
    const heard = new Set(lastReadings(happenings(works, demoStartMs + 5 * minuteMs)).keys());
    expect(heard.has('o1-z2')).toBe(false);
    expect(heard.has('o1-z1')).toBe(true);
  });
});
