import { bothOf } from './rule.ts';
import type {
  Ear,
  PlantRule,
  PlantRuleKind,
  Symptom,
  WatchedPoint,
  WatchedReading,
} from './rule.ts';

/** A cold charge is felt within so long [ms]. */
const FELT_MS = 240_000;

/** The least fall that is a dip, and the most that is none [K]. */
const DIP_K = 3;
const NO_DIP_K = 0.6;

/** So many closings one after the other, each the same way. */
const IN_A_ROW = 2;

class Watched implements Ear {
  readonly station: string;
  readonly #point: string;
  readonly #charges: readonly Charge[];
  lastC: number | null = null;

  /** @param charges of its station that are under way, as the rule keeps them */
  constructor({ id }: WatchedPoint, station: string, charges: readonly Charge[]) {
    this.#point = id;
    this.station = station;
    this.#charges = charges;
  }

  take({ tMs, shownC }: WatchedReading): void {
    if (shownC === null) return;
    this.lastC = shownC;
    for (const charge of this.#charges) {
      const fell = charge.fell.get(this.#point);
      if (fell !== undefined && tMs >= charge.startMs) fell.leastC = Math.min(fell.leastC, shownC);
    }
  }
}

interface Charge {
  station: string;
  startMs: number;
  points: ReadonlySet<string>;
  /** What each point of the station read at the start, and its least since. */
  fell: Map<string, { fromC: number; leastC: number }>;
}

class SwappedRule implements PlantRule {
  readonly #points = new Map<string, Watched>();
  /** Under way, by their start. */
  readonly #charges: Charge[] = [];
  /** The same by station, for a reading is weighed with those of its own alone. */
  readonly #ofStation = new Map<string, Charge[]>();
  readonly #odd = new Map<string, { inARow: number; fromMs: number }>();

  constructor(points: readonly WatchedPoint[]) {
    for (const point of points) {
      const { id, station, plausible } = point;
      if (station === null || plausible === null) continue;
      const charges = this.#ofStation.get(station) ?? [];
      this.#ofStation.set(station, charges);
      this.#points.set(id, new Watched(point, station, charges));
    }
  }

  ear(point: string): Ear | null {
    return this.#points.get(point) ?? null;
  }

  loaded(points: readonly string[], startMs: number): void {
    const station = this.#points.get(points[0] ?? '')?.station;
    if (station === undefined) return;
    const fell: Charge['fell'] = new Map();
    for (const [point, { station: own, lastC }] of this.#points) {
      if (own === station && lastC !== null) fell.set(point, { fromC: lastC, leastC: lastC });
    }
    const charge = { station, startMs, points: new Set(points), fell };
    this.#charges.push(charge);
    this.#ofStation.get(station)?.push(charge);
  }

  look(nowMs: number): Symptom[] {
    const over = this.#charges.filter(({ startMs }) => nowMs - startMs >= FELT_MS);
    for (const charge of over) {
      takeOut(this.#charges, charge);
      takeOut(this.#ofStation.get(charge.station) ?? [], charge);
    }
    for (const charge of over) this.#weigh(charge);
    return [...this.#odd].flatMap(([pair, { inARow, fromMs }]) => {
      if (inARow < IN_A_ROW) return [];
      // Each reads the other's place: neither may count for its own.
      return bothOf(pair).map(([point, other]) => ({
        ...{ point, others: [other], fromMs },
        evidence: { other, closings: inARow },
      }));
    });
  }

  /** One that should have dipped and did not, one that should not and did: their wires may be crossed. */
  #weigh({ station, startMs, points, fell }: Charge): void {
    // Two charges at one time tell nothing of either.
    if ((this.#ofStation.get(station) ?? []).length > 0) return;
    const fallK = ({ fromC, leastC }: { fromC: number; leastC: number }) => fromC - leastC;
    const still: string[] = [];
    const strange: string[] = [];
    for (const [point, course] of fell) {
      if (points.has(point) && fallK(course) <= NO_DIP_K) still.push(point);
      if (!points.has(point) && fallK(course) >= DIP_K) strange.push(point);
    }
    const [one, ...more] = still;
    const [other, ...others] = strange;
    const pair = [one ?? '', other ?? ''].join(' ');
    const isOdd = one !== undefined && other !== undefined && more.length + others.length === 0;
    for (const known of this.#odd.keys()) {
      if (known !== pair && known.split(' ').some((point) => fell.has(point))) {
        this.#odd.delete(known);
      }
    }
    if (!isOdd) return;
    const known = this.#odd.get(pair);
    this.#odd.set(pair, { inARow: (known?.inARow ?? 0) + 1, fromMs: known?.fromMs ?? startMs });
  }
}

function takeOut(charges: Charge[], charge: Charge): void {
  charges.splice(charges.indexOf(charge), 1);
}

export const swappedRule: PlantRuleKind = {
  rule: 'swapped',
  doubts: true,
  evidence:
    'two closings in a row a cold charge was felt by one point that it does not touch, and not by one that it does',
  falseAlarms: 'a load that was started for the wrong opening, twice',
  over: (points) => new SwappedRule(points),
};
