import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Chance } from './chance.ts';

/** A Monday, 09:00 in Copenhagen. */
export const startMs = Date.parse('2026-03-02T08:00:00Z');
export const minuteMs = 60_000;
const points = ['ra-1', 'ra-2', 'rb-1'] as const;

/** A message as a controller means to publish it. */
export interface Message {
  id: number;
  /** When the controller publishes it, by the true clock [ms]. */
  atMs: number;
  topic: string;
  payload: string;
  /** The readings in it; empty for events and nonsense. */
  readings: { point: string; t: number; v: number }[];
}

const sensor = (id: string) =>
  `  - { id: ${id}, signal: celsius, everyS: 20, resolutionK: 0.1, noiseK: 0.1, ` +
  'plausible: { minC: 0, maxC: 60, maxRateKPerMin: 60 } }\n';

const rack = (id: string, bays: string) => `
  - id: ${id}
    kind: rack
    maxHeatingKPerMin: 1
    maxCoolingKPerMin: 1
    supplyMaxC: 40
    surroundingsMinC: 5
    zones: [${bays}]`;

/** Writes two racks and a recipe; answers the plant's file. */
export function writePlant(folder: string): string {
  const file = join(folder, 'plant.yaml');
  const bays = '{ id: bay-1, air: ra-1 }, { id: bay-2, air: ra-2 }';
  writeFileSync(
    file,
    `site: { id: sim, timeZone: UTC }
broker: { url: mqtt://127.0.0.1:1883 }
stations:${rack('rack-a', bays)}${rack('rack-b', '{ id: bay-1, air: rb-1 }')}
sensors:
${points.map(sensor).join('')}`,
  );
  mkdirSync(join(folder, 'recipes'));
  writeFileSync(
    join(folder, 'recipes', 'frame.yaml'),
    `id: frame
kind: rack
title: Frame
law:
  form: equivalent-time
  referenceC: 20
  activationEnergyJPerMol: 45000
  source: invented
window: { least: 12, most: 30, source: invented }
plannedMin: 18
part: { follows: air, initialC: 20 }
`,
  );
  return file;
}

/** Loads of the day: station, bay, from and to [min]. The third is too short, the last too long. */
const loads = [
  ['rack-a', 'bay-1', 4, 22],
  ['rack-a', 'bay-2', 6, 23],
  ['rack-b', 'bay-1', 8, 14],
  ['rack-b', 'bay-1', 16, 54],
] as const;

export const dayMin = 56;
/** Before the day the racks are read every five minutes: something to drop when the disk is full [min]. */
const beforeMin = 200;

/** Everything the controllers mean to say, in order; the same for the same seed. */
export function messagesOfDay(chance: Chance): Message[] {
  const messages: Message[] = [];
  const add = (atMs: number, topic: string, payload: object, readings: Message['readings']) => {
    messages.push({ id: 0, atMs, topic, payload: JSON.stringify(payload), readings });
  };
  for (const [place, point] of points.entries()) {
    const topic = `plant/${point === 'rb-1' ? 'rack-b' : 'rack-a'}/${point}`;
    let seq = 1;
    for (let s = -beforeMin * 60; s < dayMin * 60; s += s < 0 ? 300 : 20) {
      const t = startMs + s * 1000;
      const v = Math.round(10 * (22 + place + Math.sin(s / 900) + 0.2 * chance.next())) / 10;
      add(t, topic, { t, v, seq }, [{ point, t, v }]);
      seq += 1;
    }
  }
  for (const [i, [station, zone, fromMin, toMin]] of loads.entries()) {
    const load = `L-${i + 1}`;
    const topic = `plant/${station}/event`;
    const more = { load, lot: `K-${i + 1}`, recipe: 'frame', zones: [zone] };
    const from = startMs + fromMin * minuteMs;
    const to = startMs + toMin * minuteMs;
    add(from, topic, { t: from, event: 'load-start', ...more }, []);
    add(to, topic, { t: to, event: 'load-end', load }, []);
  }
  messages.sort((a, b) => a.atMs - b.atMs || (a.topic < b.topic ? -1 : 1));
  return messages.map((message, id) => ({ ...message, id }));
}
