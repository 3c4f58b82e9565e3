import { expect, test, vi } from 'vitest';
import type { TraceWanted } from '@setwell/collector/judge/judging';
import { drawTrace } from '@setwell/collector/judge/drawing';
import { Pictures } from '@setwell/collector/judge/pictures';
import { recordRoutes } from '@setwell/collector/serve/record-routes';
import { Asked } from '@setwell/collector/serve/route';
import type { Served } from '@setwell/collector/serve/served';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import { trace } from '@setwell/shared-models/score/trace';
import { releasedCases } from '../released/cases.ts';

/** A judge whose pictures are drawn when the test says so. */
class SlowJudge {
  nowMs = 0;
  readonly asked: TraceWanted[] = [];
  readonly #done: (() => void)[] = [];
  /** How far the picture is that is being drawn. */
  tell: (share: number) => void = () => undefined;
  readonly pictures = new Pictures(
    (wanted, told) => {
      this.asked.push(wanted);
      this.tell = told;
      return new Promise((resolve) =>
        this.#done.push(() => resolve(this.asked.length as unknown as LoadTrace)),
      );
    },
    () => this.nowMs,
  );

  look(load: string, told?: (share: number) => void): Promise<LoadTrace | null> {
    return this.pictures.of(load, { load, nowMs: this.nowMs, view: {} }, told);
  }

  async draw(): Promise<void> {
    await Promise.resolve();
    this.#done.shift()?.();
    for (let turn = 0; turn < 10; turn += 1) await Promise.resolve();
  }
}

test('a dozen screens at one load have one picture drawn, and another only seconds later', async () => {
  const judge = new SlowJudge();
  const looks = Array.from({ length: 12 }, () => judge.look('P1-1'));
  await judge.draw();
  expect(new Set(await Promise.all(looks)).size).toBe(1);
  judge.nowMs = 3_900;
  await judge.look('P1-1');
  expect(judge.asked).toHaveLength(1);
  judge.nowMs = 4_100;
  const next = judge.look('P1-1');
  await judge.draw();
  await next;
  expect(judge.asked).toHaveLength(2);
});

test('pictures are drawn one at a time, and a page of requests is refused before it fills the judge’s thread', async () => {
  const judge = new SlowJudge();
  const looks = Array.from({ length: 24 }, (_, i) => judge.look(`P1-${String(i)}`));
  await expect(judge.look('P1-24')).rejects.toMatchObject({ status: 503 });
  for (let drawn = 1; drawn <= 24; drawn += 1) {
    await judge.draw();
    expect(judge.asked).toHaveLength(Math.min(24, drawn + 1));
  }
  expect(await Promise.all(looks)).toHaveLength(24);
  const again = judge.look('P1-24');
  await judge.draw();
  expect(await again).not.toBeNull();
});

test('all who wait for one picture hear how far it is, and nobody once it is drawn', async () => {
  const judge = new SlowJudge();
  const heard: string[] = [];
  const looks = ['first', 'second'].map((who) =>
    judge.look('P1-1', (share) => heard.push(`${who} ${String(share)}`)),
  );
  await Promise.resolve();
  judge.tell(0.25);
  expect(heard).toEqual(['first 0.25', 'second 0.25']);
  await judge.draw();
  await Promise.all(looks);
  judge.tell(0.5);
  expect(heard).toHaveLength(2);
});

test.each(releasedCases)(
  'a picture that tells how far it is shows the same to the bit: $name',
  ({ name, input, readings }) => {
    const csv = canonicalReadings(readings);
    const shares: number[] = [];
    // Of the last zone where it is named, of the place that decides where it is not.
    const view = name === 'good' ? {} : { zone: input.zones.at(-1)?.id, glueLine: 1, points: 40 };
    const drawn = drawTrace(input, csv, view, (share) => shares.push(share));
    expect(drawn).toEqual(trace(input, csv, view));
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
    expect(shares.length).toBeGreaterThan(50);
    expect(shares.at(-1)).toBe(1);
  },
);

test('whoever waits behind other pictures hears every five seconds that his comes', async () => {
  vi.useFakeTimers();
  let drawn: (trace: LoadTrace | null) => void = () => undefined;
  const trace = () => new Promise<LoadTrace | null>((done) => (drawn = done));
  const route = recordRoutes({ trace } as unknown as Served).find(
    ({ path }) => path === '/trace/{load}',
  );
  if (route === undefined || !('answer' in route)) throw new Error('no route draws a picture');
  const asked = new Asked(new Map([['load', 'P1-1']]), new URLSearchParams('told=1'));
  const answering = route.answer(asked, null);
  await vi.advanceTimersByTimeAsync(11_000);
  const { body, type } = await answering;
  drawn({ timesMs: [] } as unknown as LoadTrace);
  vi.useRealTimers();
  const text: string[] = [];
  for await (const chunk of body as AsyncIterable<Buffer>) text.push(chunk.toString());
  expect(type).toBe('application/x-ndjson');
  expect(text.join('')).toBe('{"share":0}\n{"share":0}\n{"trace":{"timesMs":[]}}\n');
});
