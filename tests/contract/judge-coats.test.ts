import type { LoadAmended, LoadOpened, LotFiled } from '@setwell/shared-models/record/bodies';
import type { CoatResult } from '@setwell/shared-models/score/shape';
import { afterEach, describe, expect, it } from 'vitest';
import { until } from '../fixtures/until.ts';
import { coatLoad, lot, openOven, type Oven } from '../fixtures/coated-lot.ts';

let oven: Oven;
afterEach(() => oven.end());

const bakeAll = (coats: number[]) => {
  for (const coat of coats) {
    oven.bake(coat);
    oven.rest(3);
  }
};

const stackOf = (coats: readonly CoatResult[] | undefined) =>
  coats?.map(({ coat, load, verdict }) => [coat, load, verdict]);

const requirement = (load: string, wanted: string) =>
  oven.account(load).result.requirements.find(({ kind }) => kind === wanted);

describe('a load that bakes coats again', () => {
  it('carries each coat under its own, from the readings of their records, and cites them', () => {
    oven = openOven(3);
    bakeAll([1, 2, 3]);
    const accounts = [1, 2, 3].map((coat) => oven.account(coatLoad(coat)));
    const [first, second, third] = accounts.map(({ entry }) => entry);
    expect(accounts.map(({ input }) => input.coats.map(({ coat }) => coat))).toEqual([
      ...[[], [1], [1, 2]],
    ]);
    expect(third?.cites.map(({ n }) => n)).toEqual([first?.n, second?.n]);
    const opened = oven.works
      .entries('load-opened')
      .find(({ about }) => about.load === coatLoad(3));
    expect(opened?.cites).toEqual(third?.cites);
    expect(stackOf(accounts[2]?.result.coats)).toEqual([
      [1, 'O1-1', 'in-window'],
      [2, 'O1-2', 'in-window'],
      [3, 'O1-3', 'in-window'],
    ]);
    expect(accounts.map(({ result }) => result.verdict)).toEqual([
      ...['in-window', 'in-window', 'in-window'],
    ]);
    // Three bakes alike: the first coat has been through all of them.
    const own = accounts[0]?.result.coats?.[0]?.sum.nominal ?? NaN;
    expect(accounts[2]?.result.coats?.[0]?.sum.nominal).toBeCloseTo(3 * own, 1);
  });

  it('says so while it runs: the coats stand beside the judgement', () => {
    oven = openOven(2);
    bakeAll([1]);
    let running: readonly { coat: number; verdict: string }[] | undefined;
    oven.bake(2, {
      during: (min) => {
        if (min === 30) running = oven.works.collector.judgements()[0]?.coats;
      },
    });
    expect(running?.map(({ coat, verdict }) => [coat, verdict])).toEqual([
      [1, 'in-window'],
      [2, 'in-window'],
    ]);
  });
});

describe('coat 5 never baked', () => {
  it('is short for ever: under the next coat, under the one after, and in the lot’s file', async () => {
    oven = openOven();
    bakeAll([1, 2, 3, 4, 6, 7]);
    for (const coat of [6, 7]) {
      expect(oven.account(coatLoad(coat)).result.verdict).toBe('under');
      expect(requirement(coatLoad(coat), 'earlier-coat')).toMatchObject({
        verdict: 'under',
        evidence: 'coat 5: short of its own bake',
      });
    }
    expect(stackOf(oven.account(coatLoad(7)).result.coats)?.[4]).toEqual([5, null, 'under']);
    expect(oven.account(coatLoad(4)).result.verdict).toBe('in-window');
  });
});

describe('coat 3 after 26 h', () => {
  it('is laid too late to bond, unless it was abraded in between', () => {
    oven = openOven(4);
    bakeAll([1, 2]);
    oven.rest(23);
    oven.bake(3);
    expect(requirement(coatLoad(3), 'recoat')).toMatchObject({ verdict: 'over', side: 'long' });
    expect(oven.account(coatLoad(3)).result.verdict).toBe('over');
    oven.rest(26);
    oven.tell('abraded', { lot });
    oven.bake(4);
    expect(requirement(coatLoad(4), 'recoat')).toMatchObject({ verdict: 'in-window' });
  });
});

describe('another account of an earlier bake', () => {
  it('is another account of every later one, each once, and the lot’s file is filed anew', async () => {
    oven = openOven(3);
    const startMs: number[] = [];
    oven.bake(1, {
      lost: (min) => min >= 20 && min < 40,
      during: () => startMs.push(oven.works.clock.nowMs()),
    });
    oven.rest(3);
    bakeAll([2, 3]);
    const before = oven.account(coatLoad(3));
    expect(before.result.coats?.[0]?.verdict).toBe('unproven');
    const release = { decision: 'release', reason: 'as proven', onRevision: 1 };
    oven.works.collector.append([
      { kind: 'disposition', by: 'R. Voss', about: { lots: [lot] }, body: release },
    ]);
    const filed = () => oven.works.entries('lot-filed').map(({ body }) => body as LotFiled);
    const lookUntil = (holds: () => boolean) =>
      until(() => {
        oven.works.collector.step();
        return holds();
      });
    await lookUntil(() => filed().length > 0);
    expect(filed()[0]?.coats?.[0]?.coats[0]).toMatchObject({ coat: 1, verdict: 'unproven' });
    const rows = startMs.slice(20).flatMap((t) => [0, 30].map((s) => ({ t: t + s * 1000, v: 62 })));
    oven.works.collector.accept([
      {
        topic: 'plant/oven-1/o1',
        payload: Buffer.from(JSON.stringify(rows)),
        ...{ retained: false, queued: false, act: null },
      },
    ]);
    for (let i = 0; i < 8; i += 1) {
      oven.works.clock.advance(180_000);
      oven.works.collector.step();
    }
    const amended = oven.works.entries('load-amended');
    expect(amended.map(({ about, body }) => [about.load, (body as LoadAmended).because])).toEqual([
      ['O1-1', 'late'],
      ['O1-2', 'upstream'],
      ['O1-3', 'upstream'],
    ]);
    const after = oven.account(coatLoad(3));
    expect(after.result.coats?.[0]?.verdict).toBe('in-window');
    expect(after.entry.cites.map(({ n }) => n)).toContain(amended[0]?.n);
    await lookUntil(() => filed().at(-1)?.after === amended.at(-1)?.n);
    expect(filed().at(-1)).toMatchObject({ because: 'load-changed' });
    expect(filed().at(-1)?.coats?.[0]?.coats[0]).toMatchObject({ coat: 1, verdict: 'in-window' });
  });
});

describe('parts of one lot', () => {
  it('each carry the bakes that they were in', () => {
    oven = openOven(2);
    oven.bake(1, { load: 'O1-A', parts: ['S-204-01', 'S-204-02'] });
    oven.rest(3);
    oven.bake(1, { load: 'O1-B', parts: ['S-204-03'], airC: 45 });
    oven.rest(3);
    oven.bake(2, { load: 'O1-C', parts: ['S-204-01', 'S-204-03', 'S-204-09'] });
    const { result, input } = oven.account('O1-C');
    expect(input.coats.map(({ own }) => [own?.parts, own?.load, own?.step.verdict])).toEqual([
      [['S-204-01'], 'O1-A', 'in-window'],
      [['S-204-03'], 'O1-B', 'under'],
      [['S-204-09'], null, 'under'],
    ]);
    expect(result.verdict).toBe('under');
    oven.rest(3);
    // One of those that went well goes on by itself.
    oven.bake(2, { load: 'O1-D', parts: ['S-204-02'] });
    expect(oven.account('O1-D').result.verdict).toBe('in-window');
  });

  it('of another lot carry nothing of it', () => {
    oven = openOven(2);
    bakeAll([1]);
    oven.bake(2, { load: 'O1-X', ofLot: 'S-205' });
    expect(oven.account('O1-X').input.coats.map(({ own }) => own?.load)).toEqual([null]);
  });
});

describe('a restart', () => {
  it('in the middle of a bake leaves every record as it would have been, to the byte', async () => {
    const records = (each: Oven) =>
      [1, 2, 3].map((coat) => {
        const { body } = each.account(coatLoad(coat)).entry;
        return [body.input.sha256, body.readings.sha256, body.result.sha256];
      });
    oven = openOven(3);
    bakeAll([1, 2, 3]);
    const plain = records(oven);
    const opened = oven.works.entries('load-opened').map(({ body }) => (body as LoadOpened).load);
    await oven.end();
    oven = openOven(3);
    for (const coat of [1, 2, 3]) {
      oven.bake(coat, { during: (min) => void (min === 20 && oven.works.restart()) });
      oven.rest(3);
      if (coat === 2) oven.works.restart();
    }
    expect(records(oven)).toEqual(plain);
    expect(oven.works.entries('load-opened').map(({ body }) => (body as LoadOpened).load)).toEqual(
      opened,
    );
    expect(oven.works.entries('load-amended')).toEqual([]);
  });
});
