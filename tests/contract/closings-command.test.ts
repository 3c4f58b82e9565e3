import { describe, expect, it } from 'vitest';
import { answerOf, csvFile, refusalOf, textFile, wordsOf } from '../fixtures/command.ts';

/** Face of a hot plate: flat, then at each charge 12 K down within a minute and back in ten [°C]. */
function faceC(s: number, chargesS: readonly number[]): number {
  const since = chargesS.map((chargeS) => s - chargeS).filter((each) => each >= 0);
  const last = since.length === 0 ? Infinity : Math.min(...since);
  if (last === Infinity) return 138;
  return 138 - 14 * (1 - Math.exp(-last / 25)) * Math.exp(-last / 200);
}

const charges = [600, 2220, 3840];

function logger(
  heading: string,
  row: (s: number) => (string | number)[],
  untilS = 5400,
  everyS = 5,
): string {
  const lines = [heading];
  for (let s = 0; s <= untilS; s += everyS) lines.push(row(s).join(','));
  return csvFile(`${lines.join('\n')}\n`);
}

const faces = (s: number) => [faceC(s, charges).toFixed(2), (faceC(s, charges) - 1).toFixed(2)];

type Found = {
  start: number;
  startEarliest: number;
  startLatest: number;
  end: number | null;
  endEarliest: number;
  endLatest: number | null;
  foundBy: string;
};

async function closingsOf(words: string[]): Promise<Found[]> {
  const { exit, document } = await answerOf(['closings', ...words]);
  expect(exit).toBe(0);
  return document as unknown as Found[];
}

describe('setwell closings', () => {
  it('finds each charge by the dip of its faces, with an interval that holds the true start', async () => {
    const found = await closingsOf([logger('time_s,upper_c,lower_c', (s) => [s, ...faces(s)])]);
    expect(found.map(({ foundBy }) => foundBy)).toEqual(['dip', 'dip', 'dip']);
    found.forEach((closing, i) => {
      const trueS = charges[i] ?? NaN;
      expect(closing.startEarliest).toBeLessThanOrEqual(trueS);
      expect(closing.startLatest).toBeGreaterThanOrEqual(trueS);
      expect(closing.startLatest - closing.startEarliest).toBeLessThan(60);
      expect(closing.start).toBeGreaterThanOrEqual(closing.startEarliest);
      expect(closing.start).toBeLessThanOrEqual(closing.startLatest);
    });
    const [first, , last] = found;
    expect(first?.endLatest).toBe(found[1]?.startLatest);
    expect(last?.end).toBeNull();
    expect(last?.endLatest).toBeNull();
  });

  it('goes by the gauge where there is one, as closely as it is read', async () => {
    const pressed = (s: number) => charges.some((each) => s >= each && s < each + 1440);
    const file = logger('time_s,upper_c,lower_c,pressure_bar', (s) => [
      s,
      ...faces(s),
      pressed(s) ? 160 : 2,
    ]);
    const found = await closingsOf([file]);
    expect(found).toMatchObject(
      charges.map((trueS) => ({
        startEarliest: trueS - 5,
        startLatest: trueS,
        endEarliest: trueS + 1435,
        endLatest: trueS + 1440,
        foundBy: 'pressure',
        coldCharge: 'seen',
      })),
    );
  });

  it('answers in the file’s own times', async () => {
    const at = (s: number) => new Date(Date.UTC(2026, 2, 2, 6) + s * 1000).toISOString();
    const file = logger('time,upper_c,lower_c', (s) => [at(s), ...faces(s)]);
    const [first] = (await closingsOf([file])) as unknown as Record<string, string>[];
    expect(first?.['startLatest']).toMatch(/^2026-03-02T06:10:\d\d\.\d{3}Z$/);
  });

  it('says that no cold charge was seen where there is no dip', async () => {
    const file = logger('time_s,upper_c,lower_c', (s) => [s, 138, 137]);
    expect(await closingsOf([file])).toEqual([]);
    expect(await wordsOf(['closings', file])).toContain('no cold charge seen');
  });

  it('takes no slow cooling and no swing of a controller for a charge', async () => {
    const file = logger('time_s,upper_c,lower_c', (s) => [
      s,
      (138 - s / 60 + 0.8 * Math.sin(s / 90)).toFixed(2),
      (137 - s / 60 + 0.8 * Math.cos(s / 90)).toFixed(2),
    ]);
    expect(await closingsOf([file])).toEqual([]);
  });

  it('reads a plant’s points, its gauge and its kelvins', async () => {
    const plant = textFile(
      'plant.yaml',
      `site: { id: works, timeZone: UTC }
broker: { url: mqtt://127.0.0.1:1883 }
stations:
  - id: press-9
    kind: press
    maxHeatingKPerMin: 12
    maxCoolingKPerMin: 6
    supplyMaxC: 150
    surroundingsMinC: 10
    readyC: 130
    closedBy: { pressure: bar }
    zones: [{ id: only, upper: up, lower: low }]
sensors:
  - { id: up, signal: kelvin, plausible: { minC: 0, maxC: 220, maxRateKPerMin: 90 } }
  - { id: low, signal: celsius, plausible: { minC: 0, maxC: 220, maxRateKPerMin: 90 } }
  - { id: bar, station: press-9, signal: bar, plausible: { min: 0, max: 250 } }
`,
    );
    const file = logger('time_s,up,low', (s) => {
      const [upper, lower] = faces(s);
      return [s, (Number(upper) + 273.15).toFixed(2), lower ?? ''];
    });
    const found = await closingsOf([file, '--plant', plant, '--station', 'press-9']);
    expect(found).toHaveLength(3);
    const refused = await refusalOf(['closings', file, '--plant', plant, '--station', 'press-8']);
    expect(refused).toMatchObject({ exit: 2, code: 'unknown-station', field: '--station' });
  });

  it.each([
    ['time_s,upper_c\n0,138\n5,138,2\n', { code: 'long-row', line: 3 }],
    ['time_s,upper_f\n0,280\n5,280\n', { code: 'fahrenheit', line: 1, field: 'upper_f' }],
    ['time_s,upper_c\n0,138\n5,warm\n', { code: 'no-number', line: 3, field: 'upper_c' }],
    ['time_s,upper_c\n5,138\n0,138\n', { code: 'descending', line: 3, field: 'time_s' }],
    ['upper_c,lower_c\n138,138\n138,138\n', { code: 'missing-column', line: 1 }],
    ['time_s\n0\n5\n', { code: 'missing-column', line: 1 }],
  ])('refuses %j with line and field', async (text, expected) => {
    const file = csvFile(text);
    expect(await refusalOf(['closings', file])).toMatchObject({ exit: 2, file, ...expected });
  });
});
