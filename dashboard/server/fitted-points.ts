import type { PointFitted } from '@setwell/shared-models/api/points';
import { CollectorError, type CollectorClient } from './collector-client.ts';

/** Every point with what is fitted there now; null where the collector does not answer. */
export async function fittedPoints(
  client: Pick<CollectorClient, 'ask'>,
): Promise<PointFitted[] | null> {
  try {
    const { points } = (await client.ask('/instruments')) as { points: PointFitted[] };
    return points;
  } catch (error) {
    if (error instanceof CollectorError) return null;
    throw error;
  }
}
