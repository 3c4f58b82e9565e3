import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { Read } from '@setwell/shared-models/plant/finding';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import { scoreReadings } from '@setwell/shared-models/score/score';
import type { JudgedPlace, ScoreInput } from '@setwell/shared-models/score/shape';
import { planWeights } from '@setwell/shared-models/score/weigh';
import { expectedInterval, type Faces } from './expected-interval.ts';

/** Two ways to the same number must agree so well [equivalent min, and min of the clock]. */
const agreesMin = 0.3;

const dip = (setC: number, dipK: number, recoveryS: number, s: number): number =>
  setC - dipK * Math.exp(-s / recoveryS);
const good: Faces = (s) => ({ upper: dip(138, 13, 100, s), lower: dip(138, 13, 100, s) });
const weakUpper: Faces = (s) => ({ upper: dip(130, 13, 175, s), lower: dip(138, 13, 100, s) });

describe('the demo shell, by the program and by an account beside it', () => {
  it.each([
    { name: 'good load', faces: good, minutes: 24, verdict: 'in-window' },
    { name: 'opened at 20', faces: good, minutes: 20, verdict: 'in-window' },
    { name: 'opened at 18', faces: good, minutes: 18, verdict: 'unproven' },
    { name: 'upper left 8 K low', faces: weakUpper, minutes: 24, verdict: 'in-window' },
    {
      name: 'upper left 8 K low, opened at 20',
      faces: weakUpper,
      minutes: 20,
      verdict: 'unproven',
    },
  ])('$name', ({ faces, minutes, verdict }) => {
    const { result, places } = scored(faces, minutes);
    const expected = expectedInterval(faces, [minutes])[0]!;
    expect(places).toHaveLength(12);
    for (const [line, want] of expected.lines.entries()) {
      const { low, nominal, high } = places[line]!;
      for (const [found, wanted] of [
        [low, want.low],
        [nominal, want.nominal],
        [high, want.high],
      ] as const)
        expect(Math.abs(found - wanted), `line ${line + 1}: ${found} for ${wanted}`).toBeLessThan(
          agreesMin,
        );
    }
    expect(result.verdict).toBe(verdict);
  });

  it.each([
    { name: 'good load', faces: good },
    { name: 'upper left 8 K low', faces: weakUpper },
  ])('$name is proven at the same minute', ({ faces }) => {
    const times = Array.from({ length: 100 }, (_, i) => 15 + i * 0.1);
    const provenMin = expectedInterval(faces, times).find(({ lines }) =>
      lines.every(({ low }) => low >= 6),
    )!.minutes;
    expect(scored(faces, provenMin - agreesMin).result.verdict).toBe('unproven');
    expect(scored(faces, provenMin + agreesMin).result.verdict).toBe('in-window');
  });

  it('gives the nominal that a third account gave before either was written', () => {
    // Worked out when the demo was invented, by a program of its own: 12.0 at 24 min, 7.7 at 20, 5.8 at 18.
    for (const [minutes, nominal] of [
      [24, 12.0],
      [20, 7.7],
      [18, 5.8],
    ] as const)
      expect(expectedInterval(good, [minutes])[0]!.lines[5]!.nominal).toBeCloseTo(nominal, 1);
  });

  it('finds the worst line nearer to the weak platen', () => {
    expect(scored(good, 24).result.worst?.glueLine).toBe(6);
    expect(scored(weakUpper, 24).result.worst?.glueLine).toBe(5);
  });
});

function scored(faces: Faces, minutes: number) {
  const recipe = read(readRecipe, 'recipes/shell-13ply.yaml');
  const plant = read(readPlant, 'plant.yaml');
  const station = plant.stations.find(({ id }) => id === 'press-1')!;
  const sensor = {
    signal: 'celsius',
    corrections: [],
    expandedK: 0.5,
    resolutionK: 0.01,
    plausible: { minC: 0, maxC: 220, maxRateKPerMin: 90 },
    calibratedC: null,
  };
  const instant = (ms: number) => ({ earliestMs: ms, latestMs: ms });
  const endMs = Math.round(minutes * 60) * 1000;
  const input: ScoreInput = {
    format: 1,
    load: 'P1-1',
    station,
    zones: [{ id: 'left', upper: 'up', lower: 'down', air: null }],
    startMs: 0,
    endMs,
    asOfMs: endMs,
    marks: { contact: null, pressureOn: instant(0), releaseStart: instant(endMs), open: null },
    plannedEndMs: 24 * 60_000,
    recipe,
    sensors: { up: sensor, down: sensor },
    readingsSha256: '',
    coats: [],
    weights: null,
  };
  const readings = (['down', 'up'] as const).flatMap((point) =>
    Array.from({ length: Math.round(minutes * 60) + 1 }, (_, s) => ({
      point,
      tMs: s * 1000,
      value: faces(s)[point === 'up' ? 'upper' : 'lower'],
    })),
  );
  const result = scoreReadings({ ...input, weights: planWeights(input) }, readings);
  const places: JudgedPlace[] = result.places;
  return { result, places };
}

function read<T>(reader: (text: string, file: string) => Read<T>, file: string): T {
  const url = new URL(`../../deploy/demo/${file}`, import.meta.url);
  const answer = reader(readFileSync(url, 'utf8'), file);
  if (!answer.ok) throw new Error(JSON.stringify(answer.findings));
  return answer.value;
}
