import { expect, test } from 'vitest';
import type { TraceWanted } from '@setwell/collector/judge/judging';
import { Pictures } from '@setwell/collector/judge/pictures';
import type { LoadTrace } from '@setwell/shared-models/score/shape';

/** A judge whose pictures are drawn when the test says so. */
class SlowJudge {
  nowMs = 0;
  readonly asked: TraceWanted[] = [];
  readonly #done: (() => void)[] = [];
  readonly pictures = new Pictures(
    (wanted) => {
      this.asked.push(wanted);
      return new Promise((resolve) =>
        this.#done.push(() => resolve(this.asked.length as unknown as LoadTrace)),
      );
    },
    () => this.nowMs,
  );

  look(load: string, zone?: string): Promise<LoadTrace | null> {
    const view = zone === undefined ? {} : { zone };
    return this.pictures.of(load, { load, nowMs: this.nowMs, view });
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
