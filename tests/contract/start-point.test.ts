import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, expect, test } from 'vitest';
import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import { openWorks, plantFile, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

const minute = 60_000;

let works: Works;
let plantDir: string;
afterEach(async () => {
  await works.end();
  rmSync(plantDir, { recursive: true });
});

/** The press plant, its recipe's start temperature read at a point of the rack's. */
function openMeasuring(): void {
  plantDir = mkdtempSync(join(tmpdir(), 'setwell-start-'));
  cpSync(dirname(plantFile), plantDir, { recursive: true });
  const recipe = join(plantDir, 'recipes', 'shell-13ply.yaml');
  const text = readFileSync(recipe, 'utf8');
  writeFileSync(recipe, text.replace('initialC: 20', 'initialC: { point: ra-1 }'));
  works = openWorks(join(plantDir, 'plant.yaml'));
}

function rackReads(value: number, ageMin = 0): void {
  const payload = Buffer.from(
    JSON.stringify({ t: works.clock.nowMs() - ageMin * minute, v: value }),
  );
  works.collector.accept([
    { topic: 'plant/rack-a/ra-1', payload, retained: false, queued: false, act: null },
  ]);
  works.collector.step();
}

function sealedLoad(): {
  input: ScoreInput;
  readings: string;
  result: ScoreResult;
  body: LoadSealed;
} {
  const [entry] = works.entries('load-sealed');
  const body = entry?.body as LoadSealed;
  return {
    body,
    input: JSON.parse(works.document(body.input)) as ScoreInput,
    readings: works.document(body.readings),
    result: JSON.parse(works.document(body.result)) as ScoreResult,
  };
}

function pressOnce(): void {
  works.event('load-start', { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply' });
  works.press(20, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  works.press(0.5, () => 138);
}

test('a start point is read, live and sealed, and its later silence holds up no seal', () => {
  openMeasuring();
  rackReads(23.5);
  works.clock.advance(2 * minute);
  works.event('load-start', { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply' });
  works.press(10, usualFaceC);
  const live = works.collector.judgements().find(({ load }) => load === 'P1-1');
  expect(live?.say).toBe('wait');
  expect(live?.reasons.map(({ code }) => code)).not.toContain('no-reading');
  works.press(10, (min) => usualFaceC(min + 10));
  works.event('load-end', { load: 'P1-1' });
  works.press(0.5, () => 138);
  const { body, input, readings, result } = sealedLoad();
  expect(body).toMatchObject({ sealedBy: 'complete', silent: [] });
  expect(Object.keys(input.sensors)).toContain('ra-1');
  expect(readings.split('\n').filter((row) => row.startsWith('ra-1,'))).toHaveLength(1);
  expect(result.reasons.map(({ code }) => code)).not.toContain('start-stale');
});

test('a start point that last spoke forty minutes before widens the record, with the reason', () => {
  openMeasuring();
  rackReads(23.5);
  works.clock.advance(40 * minute);
  pressOnce();
  const stale = sealedLoad().result;
  expect(stale.reasons).toContainEqual({
    code: 'start-stale',
    zone: 'left',
    point: 'ra-1',
    ageMs: 40 * minute,
  });
  expect(stale.budget.find(({ term }) => term === 'gap')?.down).toBeGreaterThan(0.1);
});

test('a start point that never spoke leaves the start as open as is plausible', () => {
  openMeasuring();
  pressOnce();
  const { input, result } = sealedLoad();
  expect(result.reasons).toContainEqual({ code: 'no-reading', zone: 'left', point: 'ra-1' });
  expect(input.sensors['ra-1']?.plausible).toMatchObject({ minC: -20, maxC: 60 });
  const { low = NaN, nominal = NaN } = result.places[5] ?? {};
  expect(nominal - low).toBeGreaterThan(1);
});
