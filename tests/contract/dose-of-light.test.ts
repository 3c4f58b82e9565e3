import type { CallRaised, LoadSealed } from '@setwell/shared-models/record/bodies';
import { fileURLToPath } from 'node:url';
import { afterEach, describe, expect, it } from 'vitest';
import { csvFile, answerOf, refusalOf } from '../fixtures/command.ts';
import { openWorks, type Works } from '../fixtures/press-plant/works.ts';

const demo = (file: string) => fileURLToPath(new URL(`../../deploy/demo/${file}`, import.meta.url));
const recipe = demo('recipes/button-uv.yaml');

/** A hot plate at 80 °C for 20 s: taken for 80 mW/cm² it would be a dose of 1600 mJ/cm², well in its window. */
const warm = (column: string) =>
  csvFile([`time_s,${column}`, ...[0, 5, 10, 15, 20].map((s) => `${s},80`)].join('\n'));

describe('a dose of light is never added up from temperatures', () => {
  it('nor is it scored from a file without a plant', async () => {
    const words = ['score', '--recipe', recipe, '--readings', warm('air_c'), '--uncertainty', '1'];
    expect(await refusalOf(words)).toMatchObject({ exit: 2, code: 'no-dose', field: '--recipe' });
  });

  it.each(['score', 'provable'])('%s refuses it at a bench with a hot plate', async (command) => {
    const more = command === 'score' ? ['--readings', warm('b1-plate')] : [];
    const at = ['--plant', demo('plant.yaml'), '--station', 'bench-1'];
    expect(await refusalOf([command, '--recipe', recipe, ...at, ...more])).toMatchObject({
      exit: 2,
      code: 'other-kind',
      found: 'button-uv, a dose of light',
    });
  });

  it('under a lamp it is unproven, for a strip or a radiometer has to tell', async () => {
    const at = ['--plant', demo('plant.yaml'), '--station', 'uv-1', '--date', '2026-03-02'];
    const { document } = await answerOf([
      ...['score', '--recipe', recipe, '--readings', warm('uv-air'), ...at],
    ]);
    expect(document).toMatchObject({ verdict: 'unproven', worst: null, measure: 'dose' });
    expect(document['reasons']).toContainEqual({
      code: 'refused',
      what: 'ultraviolet',
      because: 'conduction cannot follow it',
    });
  });
});

describe('at the works', () => {
  let works: Works;
  afterEach(() => works.end());

  const say = (station: string, event: string, more: object) => {
    const value = { t: works.clock.nowMs(), event, load: 'UV-1', ...more };
    const payload = Buffer.from(JSON.stringify(value));
    const topic = `plant/${station}/event`;
    works.collector.accept([{ topic, payload, retained: false, queued: false, act: null }]);
    works.collector.step();
  };

  it('the load is refused at the hot plate, and waits for people under the lamp', () => {
    works = openWorks(demo('plant.yaml'));
    say('bench-1', 'load-start', { lot: 'B-1', recipe: 'button-uv' });
    expect(works.entries('load-opened')).toEqual([]);
    const refused = works.entries('call-raised').map(({ body }) => (body as CallRaised).kind);
    expect(refused).toContain('event-refused');
    say('uv-1', 'load-start', { lot: 'B-1', recipe: 'button-uv' });
    works.clock.advance(15_000);
    say('uv-1', 'load-end', {});
    works.clock.advance(180_000);
    works.collector.step();
    const [sealed] = works.entries('load-sealed');
    expect(sealed?.body as LoadSealed).toMatchObject({ verdict: 'unproven', worst: null });
  });
});
