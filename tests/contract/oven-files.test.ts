import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import { describe, expect, it } from 'vitest';
import { answerOf, csvFile, textFile } from '../fixtures/command.ts';
import { openWorks, type Works } from '../fixtures/press-plant/works.ts';

const limits = 'maxHeatingKPerMin: 2, maxCoolingKPerMin: 2, supplyMaxC: 70, surroundingsMinC: 10';
const flash = '{ id: flash, air: z0, fromM: 0, toM: 3 }';
const hot = '{ id: bake, air: z1, fromM: 3, toM: 14 }';
const cool = '{ id: cool, air: z2, fromM: 14, toM: 18 }';

const sensors = `${['z0', 'z1', 'z2']
  .map(
    (id) =>
      `  - { id: ${id}, topic: plant/oven-1/${id}, signal: celsius, everyS: 5, plausible: { minC: 0, maxC: 120, maxRateKPerMin: 60 } }\n`,
  )
  .join(
    '',
  )}  - { id: speed, topic: plant/oven-1/speed, signal: metre-per-minute, everyS: 5, plausible: { min: 0, max: 1 } }
`;

const plantText = (station: string) => `site: { id: works, timeZone: Europe/Copenhagen }
broker: { url: mqtt://127.0.0.1:1883 }
stations:
  - { id: oven-1, ${station}, ${limits} }
sensors:
${sensors}`;

const conveyor = `kind: oven, beltSpeed: speed, zones: [ ${flash}, ${hot}, ${cool} ]`;

const recipeText = (parts: string) => `id: top-coat
kind: oven
title: Top coat
law: { form: equivalent-time, referenceC: 60, activationEnergyJPerMol: 70000, validC: [40, 75], source: invented }
window: { step: { least: 10, most: 50, source: invented } }
${parts}
`;

const slab = (mm: number) =>
  `{ layers: [ { material: fibreboard, thicknessMm: ${mm} } ], convectionWPerM2K: 25, face: both, initialC: 22 }`;
const edgeAndMiddle = `places: [ { id: lip, part: ${slab(6)} }, { id: centre, part: ${slab(22)} } ]`;

function toldOf(text: string, read: typeof readPlant | typeof readRecipe) {
  const answer = read(text, 'file.yaml');
  return answer.ok ? [] : answer.findings.map(({ code, field }) => ({ code, field }));
}

describe('a conveyor oven in plant.yaml', () => {
  it('has a belt with a speed and zones with metres', () => {
    expect(toldOf(plantText(conveyor), readPlant)).toEqual([]);
  });

  it.each([
    [
      'a belt whose zones do not say where they are',
      `kind: oven, beltSpeed: speed, zones: [ ${flash}, { id: bake, air: z1 } ]`,
      'missing-key',
      'stations[0].zones[1]',
    ],
    [
      'metres without a belt',
      `kind: oven, zones: [ ${flash} ]`,
      'contradiction',
      'stations[0].zones[0]',
    ],
    [
      'zones that lie over one another',
      `kind: oven, beltSpeed: speed, zones: [ ${hot}, ${flash} ]`,
      'contradiction',
      'stations[0].zones[1]',
    ],
    [
      'a speed that is a temperature',
      `kind: oven, beltSpeed: z0, zones: [ ${flash}, ${hot} ]`,
      'other-signal',
      'stations[0].beltSpeed',
    ],
    [
      'a speed nobody measures',
      `kind: oven, beltSpeed: sped, zones: [ ${flash}, ${hot} ]`,
      'unknown-point',
      'stations[0].beltSpeed',
    ],
    [
      'a belt at a rack',
      `kind: rack, beltSpeed: speed, zones: [ { id: bay, air: z0 } ]`,
      'contradiction',
      'stations[0].beltSpeed',
    ],
  ])('%s', (_name, station, code, field) => {
    expect(toldOf(plantText(station), readPlant)).toContainEqual({ code, field });
  });
});

describe('places of a part in an oven’s recipe', () => {
  it('stand instead of the part, each once', () => {
    expect(toldOf(recipeText(edgeAndMiddle), readRecipe)).toEqual([]);
    expect(toldOf(recipeText(''), readRecipe)).toMatchObject([{ code: 'missing-key' }]);
    expect(toldOf(recipeText(`${edgeAndMiddle}\npart: ${slab(6)}`), readRecipe)).toMatchObject([
      { code: 'contradiction' },
    ]);
    expect(
      toldOf(
        recipeText(`places: [ { id: a, part: ${slab(6)} }, { id: a, part: ${slab(9)} } ]`),
        readRecipe,
      ),
    ).toMatchObject([{ code: 'id-twice' }]);
  });

  it('setwell score judges each, along the belt, and without a plant too', async () => {
    const rows = Array.from({ length: 66 * 12 }, (_, i) => `${i * 5},27,62,24,0.275`);
    const recipe = textFile('recipe.yaml', recipeText(edgeAndMiddle));
    const { document } = await answerOf([
      ...[
        'score',
        '--recipe',
        recipe,
        '--readings',
        csvFile(['time_s,z0,z1,z2,speed', ...rows].join('\n')),
      ],
      ...['--plant', textFile('plant.yaml', plantText(conveyor)), '--station', 'oven-1'],
    ]);
    const places = document['places'] as { zone: string; nominal: number }[];
    expect(places.map(({ zone }) => zone)).toEqual(['belt/lip', 'belt/centre']);
    expect(places[0]?.nominal).toBeGreaterThan((places[1]?.nominal ?? NaN) + 5);
    const air = csvFile('time_s,air_c\n0,62\n1200,62\n2400,62\n');
    const batch = await answerOf([
      ...['score', '--recipe', recipe, '--readings', air, '--uncertainty', '0.5'],
    ]);
    const zones = (batch.document['places'] as { zone: string }[]).map(({ zone }) => zone);
    expect(zones).toEqual(['only/lip', 'only/centre']);
  });

  it('setwell provable looks at a part in the planned heat, belt or none', async () => {
    const { document } = await answerOf([
      ...['provable', '--recipe', textFile('recipe.yaml', recipeText(`part: ${slab(6)}`))],
      ...['--plant', textFile('plant.yaml', plantText(conveyor)), '--station', 'oven-1'],
    ]);
    expect(document['provenAtMin']).toBeGreaterThan(5);
  });
});

describe('heating that conduction cannot follow', () => {
  it.each(['radio-frequency', 'infrared'])(
    '%s is refused by name, and foretold nothing',
    async (heating) => {
      const plant = textFile(
        'plant.yaml',
        plantText(`kind: oven, heating: ${heating}, zones: [ { id: bake, air: z1 } ]`),
      );
      const given = ['--plant', plant, '--station', 'oven-1'];
      const recipe = textFile('recipe.yaml', recipeText(`part: ${slab(6)}`));
      const readings = csvFile('time_s,z1\n0,62\n1200,62\n3000,62\n');
      const { document } = await answerOf([
        'score',
        '--recipe',
        recipe,
        '--readings',
        readings,
        ...given,
      ]);
      expect(document).toMatchObject({ verdict: 'unproven', places: [], worst: null });
      expect(document['reasons']).toContainEqual({
        code: 'refused',
        what: heating,
        because: 'conduction cannot follow it',
      });
      const provable = await answerOf(['provable', '--recipe', recipe, ...given]);
      expect(provable.document).toMatchObject({ provenAtMin: null });
    },
  );
});

/** Slow enough that a stop of 12 min brings the lip, and nothing else, to the most it stands. */
const slowTop = `places: [ { id: lip, part: ${slab(18)} }, { id: centre, part: ${slab(50)} } ]`;

const certificate =
  'calibration: { certificate: C-0441, date: 2026-01-12, due: 2027-01-12, k: 2, points: [ { atC: 20, correctionK: 0, expandedK: 0.4 }, { atC: 90, correctionK: 0, expandedK: 0.4 } ] }';
const calibrated = (text: string) =>
  text.replaceAll('maxRateKPerMin: 60 } }', `maxRateKPerMin: 60 }, ${certificate} }`);

/** The belt stands from 30 to 42 min. P-1 is in the bake then; P-2 comes on behind it. */
function runBelt(works: Works): void {
  const startMs = works.clock.nowMs();
  const send = (topic: string, value: object) => ({
    topic: `plant/oven-1/${topic}`,
    payload: Buffer.from(JSON.stringify(value)),
    retained: false,
    queued: false,
    act: null,
  });
  const tell = (event: string, load: string) =>
    works.collector.accept([
      send('event', {
        t: works.clock.nowMs(),
        event,
        load,
        lot: 'K-1',
        ...(event === 'load-start' ? { recipe: 'top-coat' } : {}),
      }),
    ]);
  for (let min = 0; min <= 122; min += 1) {
    const rows = (v: number) =>
      Array.from({ length: 12 }, (_, i) => ({ t: startMs + min * 60_000 + i * 5000, v }));
    if (min === 0) tell('load-start', 'P-1');
    if (min === 45) tell('load-start', 'P-2');
    if (min === 78) tell('load-end', 'P-1');
    if (min === 111) tell('load-end', 'P-2');
    works.clock.advance(60_000);
    works.collector.accept([
      send('z0', rows(27)),
      send('z1', rows(62)),
      send('z2', rows(24)),
      send('speed', rows(min >= 30 && min < 42 ? 0 : 0.275)),
    ]);
    works.collector.step();
  }
}

it('parts on one belt are loads of their own: a stop is theirs who were inside', async () => {
  const dir = mkdtempSync(join(tmpdir(), 'setwell-oven-'));
  mkdirSync(join(dir, 'recipes'));
  writeFileSync(join(dir, 'plant.yaml'), calibrated(plantText(conveyor)));
  writeFileSync(join(dir, 'recipes', 'top-coat.yaml'), recipeText(slowTop));
  const works = openWorks(join(dir, 'plant.yaml'));
  try {
    runBelt(works);
    const sealed = works.entries('load-sealed').map(({ body }) => body as LoadSealed);
    expect(sealed.map(({ sealedBy, silent }) => ({ sealedBy, silent }))).toEqual([
      { sealedBy: 'complete', silent: [] },
      { sealedBy: 'complete', silent: [] },
    ]);
    const results = sealed.map(({ result }) => JSON.parse(works.document(result)) as ScoreResult);
    const told = results.map(({ places }) =>
      places.map(({ zone, verdict, side }) => [zone, verdict, side]),
    );
    expect(told).toEqual([
      [
        ['belt/lip', 'unproven', 'long'],
        ['belt/centre', 'in-window', null],
      ],
      [
        ['belt/lip', 'in-window', null],
        ['belt/centre', 'in-window', null],
      ],
    ]);
    // The demo plant's stop: 9 to 14 equivalent minutes for those inside.
    const [inside, behind] = results.map(({ places }) => places.map(({ nominal }) => nominal));
    for (const [i, nominal] of (inside ?? []).entries()) {
      const gained = nominal - (behind?.[i] ?? NaN);
      expect(gained).toBeGreaterThan(9);
      expect(gained).toBeLessThan(14);
    }
    expect(results[1]?.verdict).toBe('in-window');
    const input = JSON.parse(works.document(sealed[0]!.input)) as ScoreInput;
    expect(input.signals?.['speed']).toMatchObject({ signal: 'metre-per-minute' });
  } finally {
    await works.end();
    rmSync(dir, { recursive: true });
  }
});
