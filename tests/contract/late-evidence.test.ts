import { randomUUID } from 'node:crypto';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { LoadAmended } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import { afterEach, describe, expect, test } from 'vitest';
import { textFile } from '../fixtures/command.ts';
import { openWorks, plantFile, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
afterEach(() => works.end());

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;
const load = { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply', parts: ['K-1-01', 'K-1-02'] };

/** The usual press, its recipe asking for a moisture and a test that are entered. */
function worksAsking(): Works {
  const plant = textFile('plant.yaml', readFileSync(plantFile, 'utf8'));
  const recipes = join(dirname(plant), 'recipes');
  mkdirSync(recipes);
  const usual = readFileSync(join(dirname(plantFile), 'recipes', 'shell-13ply.yaml'), 'utf8');
  writeFileSync(
    join(recipes, 'shell-13ply.yaml'),
    `${usual}
requirements:
  - { kind: moisture, minPct: 8, maxPct: 11, coveredBy: sampled }
  - { kind: test, method: hardness, min: 120, unit: s, coveredBy: sampled }
`,
  );
  return openWorks(plant);
}

/** A good load of 24 min, sealed with all its readings. */
function sealed(): void {
  works = worksAsking();
  works.event('load-start', load);
  works.press(24, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  works.press(0.5, () => 138);
  expect(works.entries('load-sealed')).toHaveLength(1);
}

function wait(ms: number): void {
  for (let left = ms; left > 0; left -= minuteMs) {
    works.clock.advance(Math.min(minuteMs, left));
    works.collector.step();
  }
}

const amended = () => works.entries('load-amended') as Entry<LoadAmended>[];

const documentOf = <T>(named: { sha256: string }) => JSON.parse(works.document(named)) as T;

const eventsOf = ({ body }: Entry<LoadAmended>) =>
  (documentOf<ScoreInput>(body.input).events ?? []).map(({ event, numbers }) => [event, numbers]);

const requirementOf = ({ body }: Entry<LoadAmended>, kind: string) =>
  documentOf<ScoreResult>(body.result).requirements.find((each) => each.kind === kind);

const hardness = (value: number, more: object = { load: 'P1-1' }) =>
  works.event('test-result', { ...more, method: 'hardness', value, unit: 's' });

describe('evidence that comes after the seal', () => {
  test('a hardness test is a new account after ten minutes, with the old one beside it', () => {
    sealed();
    wait(5 * hourMs);
    hardness(140);
    wait(10 * minuteMs - 1);
    expect(amended()).toEqual([]);
    wait(1);
    const [entry] = amended();
    expect(entry?.body).toMatchObject({ revision: 2, because: 'evidence', verdict: 'in-window' });
    expect(requirementOf(entry!, 'test')).toMatchObject({
      verdict: 'in-window',
      coveredBy: 'sampled',
    });
    expect(entry?.cites).toHaveLength(1);
    expect(works.entries('load-sealed')).toHaveLength(1);
  });

  test('a moisture entered late, of what was so before, takes a proven load back and asks after its parts', () => {
    sealed();
    const release = { decision: 'release', reason: 'proven', onRevision: 1 };
    const about = { load: 'P1-1', lots: ['K-1'] };
    works.collector.append([{ kind: 'disposition', by: 'p-1', about, body: release }]);
    works.event('moisture', { lot: 'K-1', pct: 14 }, works.clock.nowMs() - hourMs);
    wait(11 * minuteMs);
    expect(amended()[0]?.body).toMatchObject({ because: 'evidence', verdict: 'over' });
    const kinds = works.entries('call-raised').map(({ body }) => (body as { kind: string }).kind);
    expect(kinds).toContain('release-questioned');
  });

  test('of a part it is its load’s; of a lot, what is measured after belongs to what comes after', () => {
    sealed();
    works.event('moisture', { lot: 'K-1', pct: 14 });
    works.event('moisture', { lot: 'K-2', pct: 14 }, works.clock.nowMs() - hourMs);
    works.event('spread', { lot: 'K-1' }, works.clock.nowMs() - hourMs);
    wait(2 * hourMs);
    expect(amended()).toEqual([]);
    hardness(90, { parts: ['K-1-02'] });
    wait(11 * minuteMs);
    expect(amended()).toHaveLength(1);
    expect(requirementOf(amended()[0]!, 'test')).toMatchObject({ verdict: 'under' });
    expect(eventsOf(amended()[0]!)).toEqual([['test-result', { value: 90 }]]);
  });

  test('what no requirement asks for, and what is said again, is no new account', () => {
    sealed();
    works.event('piece-temperature', { load: 'P1-1', tempC: 21 });
    works.event('test-result', { load: 'P1-1', method: 'colour', value: 3 });
    wait(2 * hourMs);
    expect(amended()).toEqual([]);
    hardness(140);
    wait(11 * minuteMs);
    works.event('test-result', { load: 'P1-1', method: 'colour', value: 4 });
    wait(2 * hourMs);
    expect(amended()).toHaveLength(1);
  });

  test('it stands in every later account, whatever that is for, and over a restart', () => {
    sealed();
    hardness(140);
    works.restart();
    works.collector.step();
    wait(11 * minuteMs);
    expect(amended()).toHaveLength(1);
    works.restart();
    works.collector.step();
    wait(hourMs);
    const { startMs } = amended()[0]!.body;
    works.reading('p1-ul', [{ t: startMs + 63_000, v: 131 }]);
    wait(11 * minuteMs);
    expect(amended().map(({ body }) => body.because)).toEqual(['evidence', 'late']);
    expect(eventsOf(amended()[1]!)).toEqual([['test-result', { value: 140 }]]);
  });

  test('how a load was opened between its end and its seal stands in its later accounts', () => {
    works = worksAsking();
    works.event('load-start', load);
    works.press(24, usualFaceC);
    works.event('load-end', { load: 'P1-1' });
    const openMs = works.clock.nowMs() + 2000;
    works.event('open', { load: 'P1-1' }, openMs);
    works.event('moisture', { lot: 'K-1', pct: 9 });
    works.press(0.5, () => 138);
    hardness(140);
    wait(11 * minuteMs);
    const { marks } = documentOf<ScoreInput>(amended()[0]!.body.input);
    expect(marks.open?.latestMs).toBe(openMs);
    expect(eventsOf(amended()[0]!).map(([event]) => event)).toEqual(['moisture', 'test-result']);
  });

  test('after 72 h it is kept, calls somebody, and counts by an act, even after a restart', () => {
    sealed();
    works.clock.advance(73 * hourMs);
    hardness(90);
    wait(2 * hourMs);
    expect(amended()).toEqual([]);
    const kinds = works.entries('call-raised').map(({ body }) => (body as { kind: string }).kind);
    expect(kinds.filter((kind) => kind === 'readings-too-late')).toHaveLength(1);
    works.restart();
    works.collector.step();
    works.collector.append([
      {
        kind: 'load-corrected',
        by: 'p-3',
        about: { load: 'P1-1', lots: ['K-1'] },
        body: { load: 'P1-1', reason: 'test book read late', change: { what: 'readings' } },
        act: randomUUID(),
      },
    ]);
    works.collector.step();
    works.collector.step();
    expect(amended()[0]?.body).toMatchObject({ verdict: 'under', because: { act: { by: 'p-3' } } });
  });
});
