import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Sensor } from '@setwell/shared-models/plant/plant-schema';
import type { IntakeFault } from './intake.ts';

/** What a topic speaks of. */
export type Target = { kind: 'point'; sensor: Sensor } | { kind: 'event'; station: string };

const defaultFilter = 'plant/#';

/** Ours alone: advice, status and acts are never heard as readings. */
const reserved = /^(setwell|setwell-act)(\/|$)/;

/** Which point or station a topic of the plant means. */
export class TopicMap {
  /** What a bus listens to: everything below `plant/`, so that an unknown point is seen, and each point elsewhere. */
  readonly filters: string[];
  readonly #points = new Map<string, Target>();
  readonly #stations: Set<string>;

  constructor(plant: Plant) {
    this.#stations = new Set(plant.stations.map((station) => station.id));
    const elsewhere: string[] = [];
    for (const sensor of plant.sensors.values()) {
      if (reserved.test(sensor.topic)) continue;
      this.#points.set(sensor.topic, { kind: 'point', sensor });
      if (!sensor.topic.startsWith('plant/')) elsewhere.push(sensor.topic);
    }
    this.filters = [defaultFilter, ...elsewhere];
  }

  /** Whether a message on it is for intake, known or not. */
  hears(topic: string): boolean {
    return topic === 'plant' || topic.startsWith('plant/') || this.#points.has(topic);
  }

  targetOf(topic: string): Target | IntakeFault {
    const point = this.#points.get(topic);
    if (point !== undefined) return point;
    const station = /^plant\/([^/]+)\/event$/.exec(topic)?.[1];
    if (station !== undefined && this.#stations.has(station)) return { kind: 'event', station };
    if (reserved.test(topic)) {
      const expected = 'no message from outside on topics of the program';
      return { code: 'reserved-topic', field: '', found: topic, expected };
    }
    const [code, expected] =
      station === undefined
        ? (['unknown-topic', 'the topic of a point in plant.yaml'] as const)
        : (['unknown-station', 'the event topic of a station in plant.yaml'] as const);
    return { code, field: '', found: topic.slice(0, 200), expected };
  }
}
