import { describe, expect, it } from 'vitest';
import { answerOf, csvFile, refusalOf, textFile, wordsOf } from '../fixtures/command.ts';
import { platenC } from '../fixtures/press-load.ts';

const recipeText = (more = '') => `id: shell-13ply
kind: press
title: Chair shell, 13 plies
law: { form: equivalent-time, referenceC: 135, activationEnergyJPerMol: 90000, validC: [105, 150], source: invented }
window: { least: 6, most: 40, source: invented }
plannedMin: 24
limits: [ { phase: hold, minC: 136, maxC: 140 } ]
layup:
  layers:
    - { thicknessMm: 1.5, conductivityWPerMK: 0.17, densityKgPerM3: 720, heatCapacityJPerKgK: 1700, count: 13 }
  contactWPerM2K: 500
  tolerance: { diffusivityPct: 8, contactPct: 20, placeK: 1.5 }
  dryGlue: true
  initialC: 20
${more}`;

const recipe = () => textFile('recipe.yaml', recipeText());

const rowsOf = (minutes: number) =>
  Array.from({ length: minutes * 60 + 1 }, (_, s) => `${s},${platenC(s)},${platenC(s)}`);

const press = (rows: string[]) => csvFile(['time_s,upper_c,lower_c', ...rows].join('\n'));

const words = (readings: string, more = ['--uncertainty', '0.5']) => [
  ...['score', '--recipe', recipe(), '--readings', readings],
  ...more,
];

interface Place {
  zone: string;
  glueLine: number | null;
  low: number;
  nominal: number;
  high: number;
}

async function scored(rows: string[]) {
  const { exit, document } = await answerOf(words(press(rows)));
  expect(exit).toBe(0);
  return document as {
    verdict: string;
    side: string | null;
    worst: { zone: string; glueLine: number };
    places: Place[];
    quality: { duplicates: number; conflicts: number; gaps: unknown[] };
  };
}

describe('setwell score', () => {
  // Independent conduction model and Arrhenius sum (SciPy, method of lines): nominal 12.0, 7.7 and
  // 5.8 min at the worst line after 24, 20 and 18 min.
  it.each([
    [24, 'in-window', null, 12.0],
    [20, 'in-window', null, 7.7],
    [18, 'unproven', 'short', 5.8],
    [12, 'under', 'short', 1.4],
  ])('%i min: %s', async (minutes, verdict, side, nominal) => {
    const result = await scored(rowsOf(minutes));
    expect(result).toMatchObject({ verdict, side, worst: { zone: 'only', glueLine: 6 } });
    expect(result.places).toHaveLength(12);
    expect(result.places[5]?.nominal).toBeCloseTo(nominal, 0);
    expect(Math.abs((result.places[5]?.nominal ?? NaN) - nominal)).toBeLessThan(0.1);
  });

  it('answers with the whole of the contract', async () => {
    const { document } = await answerOf(words(press(rowsOf(24))));
    expect(document).toMatchObject({
      state: 'ended',
      measure: 'equivalent-time',
      unit: 'min',
      window: { least: 6, most: 40 },
      requirements: [],
      forecast: null,
      model: { number: null },
    });
    expect((document['budget'] as { term: string }[]).map(({ term }) => term)).toEqual(
      expect.arrayContaining(['sensor', 'place', 'diffusivity', 'contact']),
    );
  });

  it('an empty cell is a missing reading, and the gap widens the interval', async () => {
    const rows = rowsOf(24).map((row, s) => (s > 840 && s < 1080 ? `${s},,` : row));
    const whole = await scored(rowsOf(24));
    const gappy = await scored(rows);
    expect(gappy.quality.gaps).toHaveLength(2);
    expect(gappy.places[5]?.low).toBeLessThan((whole.places[5]?.low ?? NaN) - 0.5);
    expect(gappy.places[5]?.high).toBeGreaterThan((whole.places[5]?.high ?? NaN) + 0.5);
  });

  it('equal values of one time count once, different ones neither, and both are counted', async () => {
    const rows = rowsOf(24);
    const again = [...rows, rows[100] ?? '', `200,90,${platenC(200)}`];
    const result = await scored(again);
    expect(result.quality).toMatchObject({ duplicates: 3, conflicts: 2 });
    expect(result.verdict).toBe('in-window');
  });

  it('the order of rows changes nothing', async () => {
    expect(await scored([...rowsOf(18)].reverse())).toEqual(await scored(rowsOf(18)));
  });

  it('a rack follows its air', async () => {
    const file = textFile(
      'rack.yaml',
      `id: frame
kind: rack
title: Frame
law: { form: equivalent-time, referenceC: 20, activationEnergyJPerMol: 45000, floorC: 10, source: invented }
window: { least: 90, mostNone: nothing harms it, source: invented }
part: { follows: air }
`,
    );
    const air = csvFile('time_s,air_c\n0,20\n3600,20\n7200,20\n');
    const given = ['score', '--recipe', file, '--readings', air, '--uncertainty', '0'];
    const { document } = await answerOf(given);
    const [place] = document['places'] as Place[];
    expect(place).toMatchObject({ zone: 'only', glueLine: null });
    expect(place?.nominal).toBeCloseTo(120, 6);
    expect(place?.low).toBeLessThan(120);
  });

  it('takes zones, certificates and columns from a plant', async () => {
    const certificate =
      '{ certificate: C-1, date: 2026-01-12, due: 2027-01-12, k: 2, points: [ { atC: 20, correctionK: -8, expandedK: 0.3 }, { atC: 150, correctionK: -8, expandedK: 0.3 } ] }';
    const sensor = (id: string) =>
      `  - { id: ${id}, topic: plant/press-1/${id}, signal: celsius, plausible: { minC: 0, maxC: 220, maxRateKPerMin: 600 }, calibration: ${certificate} }\n`;
    const plant = textFile(
      'plant.yaml',
      `site: { id: works, timeZone: Europe/Copenhagen }
broker: { builtIn: true, port: 1883 }
stations:
  - { id: press-1, kind: press, maxHeatingKPerMin: 12, maxCoolingKPerMin: 6, supplyMaxC: 150, surroundingsMinC: 10, zones: [ { id: left, upper: p-ul, lower: p-ll }, { id: right, upper: p-ur, lower: p-lr } ] }
sensors:
${['p-ul', 'p-ll', 'p-ur', 'p-lr'].map(sensor).join('')}`,
    );
    const rows = rowsOf(24).map((row) =>
      row.replace(/^(\d+)/, (s) => String(1_772_431_200_000 + 1000 * Number(s))),
    );
    const readings = csvFile(['time,p-ul,p-ll', ...rows].join('\n'));
    const given = ['--plant', plant, '--station', 'press-1'];
    const { document } = await answerOf(words(readings, [...given, '--zones', 'left']));
    expect(document).toMatchObject({ certificatesAsOf: '2026-03-02' });
    const places = document['places'] as Place[];
    expect(places.map(({ zone }) => zone)).toEqual(Array.from({ length: 12 }, () => 'left'));
    // Both faces 8 K colder than they read: 7.2 min by the same independent model.
    expect(Math.abs((places[5]?.nominal ?? NaN) - 7.2)).toBeLessThan(0.15);
    // The other zone has no column: it is part of the load all the same, named, and proves nothing.
    const whole = await answerOf(words(readings, given));
    expect(whole.document).toMatchObject({ verdict: 'unproven', worst: { zone: 'right' } });
    expect(whole.document['reasons']).toContainEqual({
      code: 'no-reading',
      zone: 'right',
      point: 'p-ur',
    });
    expect(await wordsOf(words(readings, given))).toContain('zone right: nothing read at p-ur');
    const misnamed = words(readings, [...given, '--zones', 'left,middle']);
    expect(await refusalOf(misnamed)).toMatchObject({ exit: 2, code: 'unknown-zone' });
    const undated = csvFile(['time_s,p-ul,p-ll', ...rowsOf(24)].join('\n'));
    const asFresh = await answerOf(words(undated, [...given, '--zones', 'left']));
    expect(asFresh.document['certificatesAsOf']).toBe('each on its own day');
    const dated = words(undated, [...given, '--zones', 'left', '--date', '2029-01-12']);
    const overdue = await answerOf(dated);
    expect((overdue.document['places'] as Place[])[5]?.low).toBeLessThan(
      ((asFresh.document['places'] as Place[])[5]?.low ?? NaN) - 0.5,
    );
    expect(await refusalOf([...dated.slice(0, -1), '2029-02-30'])).toMatchObject({
      exit: 2,
      code: 'no-date',
      field: '--date',
    });
    const provable = await answerOf(['provable', '--recipe', recipe(), ...given]);
    expect(provable.document['certificatesAsOf']).toBe('each on its own day');
    const later = await answerOf([
      ...['provable', '--recipe', recipe(), ...given, '--date', '2029-01-12'],
    ]);
    expect(later.document['certificatesAsOf']).toBe('2029-01-12');
    // Two years overdue: the drift since widens the interval, so that it is proven later.
    expect(later.document['provenAtMin']).toBeGreaterThan(
      (provable.document['provenAtMin'] as number) + 0.5,
    );
    expect(provable.document).toMatchObject({ side: null, unit: 'min' });
    expect(provable.document['provenAtMin']).toBeGreaterThan(18);
    expect(provable.document['provenAtMin']).toBeLessThan(21);
  });

  it('says it in words too', async () => {
    const said = await wordsOf(words(press(rowsOf(18))));
    expect(said).toContain('unproven (short)');
    expect(said).toContain('only line 6, worst');
  });
});

describe('setwell score refuses', () => {
  it('readings of an unknown doubt', async () => {
    expect(await refusalOf(words(press(rowsOf(12)), []))).toMatchObject({
      exit: 2,
      code: 'missing-option',
      field: '--uncertainty',
    });
  });

  it('a text for a number, with its line', async () => {
    const rows = rowsOf(1);
    rows[4] = '4,hot,20';
    expect(await refusalOf(words(press(rows)))).toMatchObject({
      exit: 2,
      code: 'no-number',
      line: 6,
      field: 'upper_c',
    });
  });

  it('a file without a face, naming what it should have', async () => {
    const refusal = await refusalOf(words(csvFile('time_s,platen\n0,20\n60,20\n')));
    expect(refusal).toMatchObject({ exit: 2, code: 'unknown-column', field: 'platen' });
    expect(refusal.expected).toContain('upper_c');
  });
});
