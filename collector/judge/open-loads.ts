import { foldLoad, type LoadFold } from '@setwell/shared-models/score/fold';
import { openLive, type LiveScore } from '@setwell/shared-models/score/live';
import type { RawReading } from '@setwell/shared-models/score/readings';
import type { ScoreInput } from '@setwell/shared-models/score/shape';

/** More open loads than any plant has; the one judged longest ago is folded from its start again. */
const mostOpen = 2000;

interface OpenLoad {
  /** The input but for its clock: a moved mark begins the load anew. */
  key: string;
  live: LiveScore;
  /** What it has been fed, by point and time. */
  fed: Map<string, RawReading[]>;
}

/**
 * Open loads between two looks, each resumed where nothing of it can change any more. An ended load,
 * and one whose readings or marks are not those of before and more, is folded from its start.
 */
export class OpenLoads {
  readonly #loads = new Map<string, OpenLoad>();

  /** @param readings sorted by point and time; kept readings are the same objects as before */
  fold(input: ScoreInput, readings: readonly RawReading[]): LoadFold {
    if (input.endMs !== null) {
      this.#loads.delete(input.load);
      return foldLoad(input, readings);
    }
    const key = JSON.stringify({ ...input, asOfMs: 0 });
    const byPoint = groupedByPoint(readings);
    const known = this.#loads.get(input.load);
    const load =
      known !== undefined && known.key === key && hasGrown(known.fed, byPoint)
        ? known
        : { key, live: openLive(input), fed: new Map<string, RawReading[]>() };
    for (const [point, own] of byPoint) {
      for (const { tMs, value } of own.slice(load.fed.get(point)?.length ?? 0)) {
        load.live.add(point, tMs, value);
      }
    }
    load.fed = byPoint;
    this.#loads.delete(input.load);
    this.#loads.set(input.load, load);
    for (const oldest of this.#loads.keys()) {
      if (this.#loads.size <= mostOpen) break;
      this.#loads.delete(oldest);
    }
    return load.live.fold(input.asOfMs);
  }
}

function groupedByPoint(readings: readonly RawReading[]): Map<string, RawReading[]> {
  const byPoint = new Map<string, RawReading[]>();
  for (const reading of readings) {
    const own = byPoint.get(reading.point);
    if (own === undefined) byPoint.set(reading.point, [reading]);
    else own.push(reading);
  }
  return byPoint;
}

/** Whether every point has what it had, at the same places, and perhaps more behind. */
function hasGrown(before: Map<string, RawReading[]>, now: Map<string, RawReading[]>): boolean {
  for (const [point, known] of before) {
    const own = now.get(point) ?? [];
    if (own.length < known.length) return false;
    if (known.some((reading, i) => own[i] !== reading)) return false;
  }
  return true;
}
