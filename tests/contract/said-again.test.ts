import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { openJournal, openJournalReader } from '@setwell/collector/journal/journal';
import type { Reading } from '@setwell/collector/journal/shape';
import { isScored, LoadReadings } from '@setwell/collector/judge/load-readings';

const startMs = 1_772_431_200_000;

function reading(s: number, v: number, more: Partial<Reading> = {}): Reading {
  const common = { quality: 'good', deviceSeq: null, stamped: false, ahead: false } as const;
  return { point: 'p1', t: startMs + s * 1000, v, ...common, ...more };
}

/** What is known after readings have come in one by one: in the journal, and with a load that runs. */
function known(arrivals: Reading[]) {
  const folder = mkdtempSync(join(tmpdir(), 'said-again-'));
  const path = join(folder, 'journal.db');
  const journal = openJournal(path);
  const reader = openJournalReader(path);
  const live = new LoadReadings(new Map([['p1', { fromMs: 0, toMs: Infinity }]]));
  for (const item of arrivals) {
    const { batch } = journal.append({ receivedMs: startMs, items: [item], rejects: [] });
    for (const each of batch?.readings ?? []) live.add(each);
  }
  const { readings } = reader.readings('p1', 0, 5e12);
  const scored = readings.filter(isScored).map(({ t, v }) => ({ point: 'p1', tMs: t, value: v }));
  const answer = { readings, minutes: reader.minutes('p1', 0, 5e12), scored, live: live.all() };
  reader.close();
  journal.close();
  rmSync(folder, { recursive: true });
  return answer;
}

const anyReading = fc
  .record({
    s: fc.nat(2),
    v: fc.nat(1),
    quality: fc.constantFrom<Reading['quality']>('good', 'late', 'doubtful', 'retained-old'),
    ahead: fc.boolean(),
    stamped: fc.boolean(),
    deviceSeq: fc.option(fc.nat(3)),
  })
  .map(({ s, v, ...more }) => reading(s, v, more));

test('what is known does not hang on the order in which copies of a reading came', () => {
  const twoOrders = fc
    .array(anyReading, { minLength: 2, maxLength: 7 })
    .chain((all) =>
      fc.tuple(fc.constant(all), fc.shuffledSubarray(all, { minLength: all.length })),
    );
  fc.assert(
    fc.property(twoOrders, ([first, second]) => {
      const one = known(first);
      expect(known(second)).toEqual(one);
      expect(one.live).toEqual(one.scored);
    }),
    { numRuns: 30, seed: 5 },
  );
});

test('a device that once did not vouch for a value is not believed, whichever copy came first', () => {
  const doubtful = reading(0, 138, { quality: 'doubtful' });
  for (const order of [
    [reading(0, 138), doubtful],
    [doubtful, reading(0, 138)],
  ]) {
    expect(known(order)).toMatchObject({ readings: [{ quality: 'doubtful' }], live: [] });
  }
});

test('a reading that came live stays one when the broker hands its retained copy over again', () => {
  const retained = reading(0, 138, { quality: 'retained-old' });
  for (const order of [
    [reading(0, 138), retained],
    [retained, reading(0, 138)],
  ]) {
    expect(known(order)).toMatchObject({ readings: [{ quality: 'good' }], live: [{ value: 138 }] });
  }
});
