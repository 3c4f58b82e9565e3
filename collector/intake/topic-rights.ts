import type { Plant } from '@setwell/shared-models/plant/plant';

/** What a user of a broker may say and hear: topics, or everything below one (`a/b/#`). */
export interface TopicRights {
  name: string;
  writes: string[];
  reads: string[];
}

/**
 * One user for each station's equipment, one for each collector, one that only listens to advice.
 *
 * A station's user may write below its own station and nowhere else; a point whose topic lies
 * elsewhere gets exactly that topic.
 */
export function topicRights({ stations, sensors }: Plant, collectors: string[]): TopicRights[] {
  const all = [...sensors.values()];
  const ofStations = stations.map(({ id }) => {
    const apart = all.filter(
      ({ station, topic }) => station === id && !topic.startsWith(`plant/${id}/`),
    );
    const writes = [`plant/${id}/#`, ...apart.map(({ topic }) => topic)];
    return { name: id, writes, reads: [`setwell/${id}/advice`] };
  });
  const elsewhere = new Set(all.map(({ topic }) => topic).filter((t) => !t.startsWith('plant/')));
  const ofCollectors = collectors.map((name) => ({
    name,
    writes: ['setwell/#'],
    reads: ['plant/#', ...elsewhere, 'setwell/#'],
  }));
  return [...ofCollectors, ...ofStations, { name: 'advice', writes: [], reads: ['setwell/#'] }];
}

/** Whether one of the rights covers a topic, or all that a filter can mean. */
export function covers(rights: readonly string[], topic: string): boolean {
  return rights.some((right) =>
    right.endsWith('/#') ? topic.startsWith(right.slice(0, -1)) : topic === right,
  );
}
