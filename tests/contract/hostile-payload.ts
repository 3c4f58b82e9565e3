import { Intake } from '@setwell/collector/intake/intake';
import type { NewBatch } from '@setwell/collector/journal/journal';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { smallPlant } from '../fixtures/small-plant.ts';
import { Chance } from '../simulation/day/chance.ts';

/** Of one seed: with 4,000 seeds a million. */
const payloads = 250;
const nowMs = 1_772_431_200_000;
const topics = [
  'plant/press-1/p1-ul',
  'plant/press-1/p1-bar',
  'plant/press-1/p1-closed',
  'bench/plate',
  'plant/press-1/event',
  'plant/press-9/event',
  'plant/nowhere',
];
const words = [
  ...['{', '}', '[', ']', ',', ':', '"', '\\', '"t":', '"v":', '"seq":', '"n":', '"bt":', '"u":'],
  ...['"event":"load-start"', '"load":"x"', 'null', 'true', '-', '1e999', '-0', '1772431200000'],
  ...[
    '"2026-03-02T06:00:00Z"',
    '135.2',
    '0',
    '\u0000',
    'ä',
    '\ud800',
    '"parts":[',
    '"zones":',
    ' ',
  ],
];

/** Every message becomes readings, an event, or rejects with a reason; nothing throws, nothing vanishes. */
export function takeHostilePayloads(seed: number): void {
  const chance = new Chance(seed);
  const batches: NewBatch[] = [];
  const journal = {
    appendAll: (taken: readonly NewBatch[]) => {
      batches.push(...taken);
      return taken.map(({ items }) => {
        const places = items.map((_, i) => i);
        return { batch: null, places, duplicates: 0, conflicts: 0, conflicting: [] };
      });
    },
  };
  const intake = new Intake({ plant: smallPlant(), journal, clock: new SteppedClock(nowMs) });
  for (let i = 0; i < payloads; i += 1) {
    const payload = payloadOf(chance);
    const topic = topics[chance.below(topics.length)] ?? '';
    const handed = { retained: chance.happens(0.2), queued: chance.happens(0.2), act: null };
    const before = batches.length;
    const [outcome] = intake.accept([{ topic, payload, ...handed }]);
    const made = batches.slice(before);
    const items = made.reduce((sum, batch) => sum + batch.items.length, 0);
    const rejects = made.reduce((sum, batch) => sum + batch.rejects.length, 0);
    if (rejects !== (outcome?.faults.length ?? 0))
      throw new Error(`told and kept differ: ${topic}`);
    const isEmptyPack = /^\s*\[/.test(payload.toString());
    if (items + rejects === 0 && !isEmptyPack) {
      throw new Error(`vanished on ${topic}: ${payload.toString('hex').slice(0, 400)}`);
    }
    for (const batch of made) JSON.stringify(batch.items);
  }
}

function payloadOf(chance: Chance): Buffer {
  const whole = JSON.stringify({
    t: nowMs - chance.below(1e6),
    v: chance.next() * 200,
    seq: i32(chance),
  });
  const kind = chance.below(4);
  if (kind === 0)
    return Buffer.from(Array.from({ length: chance.below(60) }, () => chance.below(256)));
  if (kind === 1) return Buffer.from(changed(whole, chance));
  if (kind === 2) return Buffer.from(changed(`[${whole},${whole}]`, chance));
  const count = chance.below(30);
  return Buffer.from(
    Array.from({ length: count }, () => words[chance.below(words.length)]).join(''),
  );
}

function i32(chance: Chance): number {
  return chance.below(2 ** 31) - 2 ** 30;
}

function changed(text: string, chance: Chance): string {
  let now = text;
  for (let i = chance.below(4); i > 0; i -= 1) {
    const at = chance.below(now.length + 1);
    const word = words[chance.below(words.length)] ?? '';
    now = now.slice(0, at) + word + now.slice(at + chance.below(4));
  }
  return now;
}
