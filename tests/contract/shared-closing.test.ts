import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import type { ScoreResult } from '@setwell/shared-models/score/shape';
import { afterEach, describe, expect, it } from 'vitest';
import { answerOf, csvFile, refusalOf, textFile } from '../fixtures/command.ts';
import { expected } from '../fixtures/demo-cases/demo-cases.ts';
import { openWorks, type Works } from '../fixtures/press-plant/works.ts';

/** Two openings between three platens of two zones each. */
const points = ['p1-1l', 'p1-1r', 'p1-2l', 'p1-2r', 'p1-3l', 'p1-3r'];

const plantText = `site: { id: works, timeZone: Europe/Copenhagen }
broker: { url: mqtt://127.0.0.1:1883 }
stations:
  - id: press-1
    kind: press
    maxHeatingKPerMin: 12
    maxCoolingKPerMin: 6
    loadingDropKPerMin: 60
    supplyMaxC: 150
    surroundingsMinC: 10
    platens:
${['1', '2', '3'].map((n) => `      - { id: platen-${n}, zones: [ { id: left, point: p1-${n}l }, { id: right, point: p1-${n}r } ] }`).join('\n')}
    openings:
      - { id: o1, upper: platen-1, lower: platen-2 }
      - { id: o2, upper: platen-2, lower: platen-3 }
sensors:
${points
  .map(
    (id) => `  - id: ${id}
    topic: plant/press-1/${id}
    signal: celsius
    everyS: 5
    resolutionK: 0.01
    plausible: { minC: 0, maxC: 220, maxRateKPerMin: 90 }
    calibration: { certificate: C-${id}, date: 2026-01-12, due: 2027-01-12, k: 2, points: [ { atC: 20, correctionK: 0, expandedK: 0.5 }, { atC: 160, correctionK: 0, expandedK: 0.5 } ] }`,
  )
  .join('\n')}
`;

const layupText = (plies: number) => `
      layers: [ { thicknessMm: 1.5, conductivityWPerMK: 0.17, densityKgPerM3: 720, heatCapacityJPerKgK: 1700, count: ${plies} } ]
      contactWPerM2K: 500
      tolerance: { diffusivityPct: 8, contactPct: 20, placeK: 1.5 }
      dryGlue: true
      initialC: 20`;

const recipeText = (id: string, piece: string) => `id: ${id}
kind: press
title: Shell
law: { form: equivalent-time, referenceC: 135, activationEnergyJPerMol: 90000, validC: [105, 150], source: invented }
window: { least: 6, most: 40, source: invented }
plannedMin: 24
limits: [ { phase: recovery, withinMin: 5 }, { phase: hold, minC: 135, maxC: 140 } ]
${piece}
`;

const plain = (id: string, plies: number) => recipeText(id, `layup:${layupText(plies)}`);

/** Thirteen plies on the left; on the right a wing of nine, as one shell has them. */
const placesText = recipeText(
  'shell-places',
  `places:
  - id: centre
    zones: [left]
    layup:${layupText(13)}
  - id: wing
    zones: [right]
    layup:${layupText(9)}`,
);

const dipped = (holdC: number, recoveryS: number) => (s: number) =>
  holdC - 13 * Math.exp(-s / recoveryS);
const usual = dipped(138, 100);
const weak = dipped(130, 175);

/** The bottom platen is 8 K low, so that its opening is, and the other is not. */
const courseOf = (point: string) => (point.startsWith('p1-3') ? weak : usual);

type Places = ScoreResult['places'];
const inZone = (places: Places, zone: string) => places.filter((place) => place.zone === zone);

/** Readings every 5 s leave a little more open than the case's every second [equivalent min]. */
const AGREES_MIN = 0.5;

/** Its lines are those of a case that was worked out beside the program. */
function isLike(places: Places, name: string, mirrored = false) {
  const want = expected[name] ?? expect.fail(`no case ${name}`);
  expect(places).toHaveLength(want.nominal.length);
  const rows = mirrored ? [...places].reverse() : places;
  for (const end of ['low', 'nominal', 'high'] as const) {
    rows.forEach((place, i) =>
      expect(
        Math.abs(place[end] - (want[end][i] ?? NaN)),
        `${name}, ${end}, line ${i + 1}`,
      ).toBeLessThan(AGREES_MIN),
    );
  }
}

describe('setwell score', () => {
  const rows = Array.from({ length: 1441 }, (_, s) =>
    [s, ...points.map((point) => courseOf(point)(s))].join(','),
  );
  const readings = () => csvFile([`time_s,${points.join(',')}`, ...rows].join('\n'));
  const words = (recipe: string, opening: string) => [
    ...['score', '--recipe', textFile('recipe.yaml', recipe), '--readings', readings()],
    ...['--plant', textFile('plant.yaml', plantText), '--station', 'press-1'],
    ...['--opening', opening],
  ];

  it('an opening has the platens above and below it for its faces', async () => {
    const first = (await answerOf(words(plain('shell', 13), 'o1'))).document['places'] as Places;
    const second = (await answerOf(words(plain('shell', 13), 'o2'))).document['places'] as Places;
    for (const zone of ['left', 'right']) {
      isLike(inZone(first, zone), 'good load');
      // Its weak platen is the lower one.
      isLike(inZone(second, zone), 'upper left 8 K low', true);
    }
  });

  it('a part of several openings’ station needs its opening, and a known one', async () => {
    const all = words(plain('shell', 13), 'o1');
    expect(await refusalOf(all.slice(0, -2))).toMatchObject({
      exit: 2,
      code: 'missing-option',
      field: '--opening',
    });
    expect(await refusalOf([...all.slice(0, -1), 'o3'])).toMatchObject({
      exit: 2,
      code: 'unknown-opening',
    });
  });

  it('a place has its own lay-up, and the slowest of them decides', async () => {
    const { document } = await answerOf(words(placesText, 'o1'));
    const places = document['places'] as Places;
    isLike(inZone(places, 'left'), 'good load');
    isLike(inZone(places, 'right'), 'nine plies in a mixed closing');
    expect(document['worst']).toMatchObject({ zone: 'left', glueLine: 6 });
  });
});

describe('the judge', () => {
  let works: Works;
  afterEach(() => works.end());

  /** All platens, read every 5 s, from one minute of the cycle to another. */
  function press(fromMin: number, toMin: number): void {
    const startMs = works.clock.nowMs() - fromMin * 60_000;
    for (let min = fromMin; min < toMin; min += 1) {
      works.clock.advance(60_000);
      for (const point of points) {
        const course = courseOf(point);
        const t = (i: number) => min * 60 + i * 5;
        works.reading(
          point,
          Array.from({ length: 12 }, (_, i) => ({
            t: startMs + t(i) * 1000,
            v: Math.round(1000 * course(t(i))) / 1000,
          })),
        );
      }
      works.collector.step();
    }
  }

  function sealedOf(load: string): { body: LoadSealed; places: Places } {
    const entry = works.entries('load-sealed').find(({ about }) => about.load === load);
    const body = (entry ?? expect.fail(`${load} is not sealed`)).body as LoadSealed;
    return { body, places: (JSON.parse(works.document(body.result)) as ScoreResult).places };
  }

  it('loads of one closing share its readings, each with its own faces, lay-up and verdict', () => {
    const plant = textFile('plant.yaml', plantText);
    const recipes = join(dirname(plant), 'recipes');
    mkdirSync(recipes);
    const texts = {
      'shell-13ply': plain('shell-13ply', 13),
      'shell-9ply': plain('shell-9ply', 9),
      'shell-places': placesText,
    };
    for (const [id, text] of Object.entries(texts))
      writeFileSync(join(recipes, `${id}.yaml`), text);
    works = openWorks(plant);
    works.event('load-start', {
      load: 'P1-1',
      lot: 'K-1',
      recipe: 'shell-13ply',
      opening: 'o1',
      zones: ['left'],
    });
    works.event('load-start', {
      load: 'P1-2',
      lot: 'K-2',
      recipe: 'shell-9ply',
      opening: 'o1',
      zones: ['right'],
    });
    works.event('load-start', { load: 'P1-3', lot: 'K-3', recipe: 'shell-places', opening: 'o2' });
    press(0, 18);
    for (const load of ['P1-1', 'P1-2', 'P1-3']) works.event('load-end', { load });
    press(18, 19);
    const [first, second, third] = ['P1-1', 'P1-2', 'P1-3'].map(sealedOf);
    isLike(first?.places ?? [], 'opened at 18');
    expect(first?.body).toMatchObject({
      verdict: 'unproven',
      worst: { zone: 'left', glueLine: 6 },
    });
    expect(second?.body).toMatchObject({
      verdict: 'in-window',
      worst: { zone: 'right', glueLine: 4 },
    });
    expect(inZone(third?.places ?? [], 'left')).toHaveLength(12);
    expect(inZone(third?.places ?? [], 'right')).toHaveLength(8);
    // The lower platen of its opening is the weak one, so that it is the slowest of the three.
    expect(third?.body).toMatchObject({ verdict: 'under', worst: { zone: 'left' } });
  });

  it('a zone is one load’s at a time, and an opening’s zones are not the other’s', () => {
    const plant = textFile('plant.yaml', plantText);
    works = openWorks(plant);
    works.event('load-start', { load: 'P1-1', lot: 'K-1', opening: 'o1', zones: ['left'] });
    works.event('load-start', { load: 'P1-2', lot: 'K-2', opening: 'o1', zones: ['left'] });
    works.event('load-start', { load: 'P1-3', lot: 'K-3', opening: 'o2', zones: ['left'] });
    const opened = works.entries('load-opened').map(({ about }) => about.load);
    expect(opened).toEqual(['P1-1', 'P1-3']);
    expect(
      works.entries('call-raised').map(({ body }) => (body as { kind: string }).kind),
    ).toContain('event-refused');
  });
});
