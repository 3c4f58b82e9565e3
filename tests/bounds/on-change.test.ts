import { Envelope, ratesOf } from '@setwell/shared-models/score/envelope';
import { openLive } from '@setwell/shared-models/score/live';
import { pointHistory } from '@setwell/shared-models/score/point-history';
import { canonicalReadings, type RawReading } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import type { OnChange, ScoredSensor } from '@setwell/shared-models/score/shape';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { faceSensor, openLoad, pressLoad } from '../fixtures/press-load.ts';

const withinK = 0.2;
const heartbeatMs = 300_000;

const speaking = (holes: OnChange['holes']): ScoredSensor => ({
  ...faceSensor,
  onChange: { withinK, heartbeatMs, holes },
});

/** What a point sends that looks every second and speaks when it has moved, or at its heartbeat. */
function reported(point: string, course: (s: number) => number, untilS: number): RawReading[] {
  const sent: RawReading[] = [];
  for (let s = 0; s <= untilS; s += 1) {
    const value = course(s);
    const last = sent.at(-1);
    const isDue = last === undefined || s * 1000 - last.tMs >= heartbeatMs;
    if (isDue || Math.abs(value - last.value) >= withinK)
      sent.push({ point, tMs: s * 1000, value });
  }
  return sent;
}

/** Neighbours among what was kept between which something was sent. */
function holesIn(sent: readonly RawReading[], kept: readonly RawReading[]): [number, number][] {
  const numberOf = new Map(sent.map(({ tMs }, i) => [tMs, i]));
  return kept.slice(1).flatMap(({ tMs }, i): [number, number][] => {
    const before = kept[i]?.tMs ?? NaN;
    return numberOf.get(tMs) === (numberOf.get(before) ?? NaN) + 1 ? [] : [[before, tMs]];
  });
}

function envelopeOf(readings: readonly RawReading[], holes: OnChange['holes']) {
  const sensor = speaking(holes);
  const envelope = new Envelope(
    pointHistory(readings, sensor, Infinity),
    ratesOf(pressLoad(20), sensor),
  );
  return (s: number) => {
    envelope.at(s * 1000);
    return { low: envelope.low, high: envelope.high };
  };
}

const at = (tS: number, value: number): RawReading => ({ point: 'ul', tMs: tS * 1000, value });

describe('a point that reports on change', () => {
  // Up to minute 10 the press may fall by 60 K/min: at its rates a silence of 240 s leaves tens of kelvins open.
  const quiet = [at(0, 137), at(240, 137.1), at(480, 137)];

  it('has moved by less than that between two reports that follow each other', () => {
    const bounds = envelopeOf(quiet, [])(120);
    expect(bounds.low).toBeCloseTo(136.8, 9);
    expect(bounds.high).toBeCloseTo(137.2, 9);
  });

  it.each([
    ['a report is missing', quiet, [[0, 240_000]] as [number, number][]],
    ['nobody can tell', quiet, null],
    ['a heartbeat was missed', [at(0, 137), at(480, 137)], []],
    ['a report between them was doubted', [at(0, 137), at(100, -40), at(240, 137)], []],
    [
      'two reports contradict each other',
      [at(0, 137), at(100, 137), at(100, 138), at(240, 137)],
      [],
    ],
    ['nothing has come since', [at(0, 137)], []],
  ])('may have done what its station can, where %s', (_why, readings, holes) => {
    const { low, high } = envelopeOf(readings, holes)(120);
    expect(low).toBeLessThan(120);
    expect(high).toBeGreaterThan(145);
  });

  it('is not silent while its heartbeat lives', () => {
    const course = (s: number) => (s < 120 ? 130 + s / 20 : 136);
    const scoredWith = (onChange: boolean) => {
      const sensor = onChange ? speaking([]) : faceSensor;
      const input = pressLoad(20, { sensors: { ul: sensor, ll: sensor } });
      const sent = ['ll', 'ul'].flatMap((point) => reported(point, course, 1200));
      return score(input, canonicalReadings(sent)).quality.gaps.length;
    };
    expect(scoredWith(true)).toBe(0);
    expect(scoredWith(false)).toBeGreaterThan(4);
  });

  const courses = fc
    .array(fc.double({ min: -4, max: 4, noNaN: true }), { minLength: 12, maxLength: 12 })
    .map((slopes) => (s: number) => {
      let c = 130;
      // Half of the time it stands still, and is silent.
      slopes.forEach((perMin, i) => {
        if (i % 2 === 0) c += (perMin / 60) * Math.max(0, Math.min(s - i * 100, 100));
      });
      return c;
    });

  it('is inside of what is said of it at every second; fewer reports never narrow it', () => {
    let looks = 0;
    let narrowed = 0;
    fc.assert(
      fc.property(
        courses,
        fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 400, maxLength: 400 }),
        fc.double({ min: 0.2, max: 1, noNaN: true }),
        (course, chances, share) => {
          const sent = reported('ul', course, 1200);
          const kept = sent.filter((_, i) => (chances[i] ?? 0) <= share);
          const all = envelopeOf(sent, holesIn(sent, sent));
          const some = envelopeOf(kept, holesIn(sent, kept));
          const byRates = envelopeOf(sent, null);
          for (let s = 0; s <= 1200; s += 7) {
            const [most, fewer, rates] = [all(s), some(s), byRates(s)];
            expect(most.low).toBeLessThanOrEqual(course(s) + 1e-9);
            expect(most.high).toBeGreaterThanOrEqual(course(s) - 1e-9);
            expect(fewer.low).toBeLessThanOrEqual(most.low + 1e-9);
            expect(fewer.high).toBeGreaterThanOrEqual(most.high - 1e-9);
            if (most.low > rates.low + 1) narrowed += 1;
            looks += 1;
          }
        },
      ),
      { numRuns: 60, seed: 11 },
    );
    expect(looks).toBeGreaterThan(10_000);
    expect(narrowed).toBeGreaterThan(1000);
  });

  it('removing reports never raises low, lowers high or makes in-window', () => {
    fc.assert(
      fc.property(
        courses,
        fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 400, maxLength: 400 }),
        (course, chances) => {
          const scored = (keep: (i: number) => boolean) => {
            const [ul, ll] = ['ul', 'll'].map((point) => {
              const sent = reported(point, course, 1200);
              const kept = sent.filter((_, i) => keep(i));
              return { kept, sensor: speaking(holesIn(sent, kept)) };
            });
            const sensors = { ul: ul!.sensor, ll: ll!.sensor };
            const readings = canonicalReadings([...ll!.kept, ...ul!.kept]);
            return score(pressLoad(20, { sensors }), readings);
          };
          const all = scored(() => true);
          const some = scored((i) => (chances[i] ?? 0) < 0.7);
          some.places.forEach(({ low, high }, i) => {
            expect(low).toBeLessThanOrEqual((all.places[i]?.low ?? NaN) + 1e-9);
            expect(high).toBeGreaterThanOrEqual((all.places[i]?.high ?? NaN) - 1e-9);
          });
          if (all.verdict !== 'in-window') expect(some.verdict).not.toBe('in-window');
        },
      ),
      { numRuns: 15, seed: 12 },
    );
  });

  it('live equals score to the byte at every look', () => {
    const course = (s: number) => 130 + 6 * Math.min(1, s / 200) + (s > 600 ? (s - 600) / 300 : 0);
    const sensors = { ul: speaking([]), ll: speaking([]) };
    const opened = openLoad(pressLoad(20, { sensors }), 0);
    const live = openLive(opened);
    const sent = ['ll', 'ul'].flatMap((point) => reported(point, course, 1200));
    for (let nowMs = 0; nowMs <= 1_200_000; nowMs += 61_300) {
      const known = sent.filter(({ tMs }) => tMs <= nowMs);
      for (const each of known) {
        if (each.tMs > nowMs - 61_300) live.add(each.point, each.tMs, each.value);
      }
      const whole = score({ ...opened, asOfMs: nowMs }, canonicalReadings(known));
      expect(JSON.stringify(live.judge(nowMs))).toBe(JSON.stringify(whole));
    }
  });
});
