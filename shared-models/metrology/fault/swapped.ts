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
  readonly #own: readonly Charge[];
  readonly #everywhere: readonly Charge[];
  lastC: number | null = null;

  /** @param charges under way that it is weighed with, as the rule keeps them: its station's, and those heard everywhere */
  constructor(
    { id }: WatchedPoint,
    station: string,
    charges: { own: readonly Charge[]; everywhere: readonly Charge[] },
  ) {
    this.#point = id;
    this.station = station;
    this.#own = charges.own;
    this.#everywhere = charges.everywhere;
  }

  take({ tMs, shownC }: WatchedReading): void {
    if (shownC === null) return;
    this.lastC = shownC;
    for (const charge of this.#own) this.#fall(charge, tMs, shownC);
    for (const charge of this.#everywhere) this.#fall(charge, tMs, shownC);
  }

  #fall({ startMs, fell }: Charge, tMs: number, shownC: number): void {
    const own = fell.get(this.#point);
    if (own !== undefined && tMs >= startMs) own.leastC = Math.min(own.leastC, shownC);
  }
}

interface Charge {
  station: string;
  startMs: number;
  points: ReadonlySet<string>;
  /** The points of other stations are heard too. */
  isEverywhere: boolean;
  /** What each point that is heard read at the start, and its least since. */
  fell: Map<string, { fromC: number; leastC: number }>;
}

/** The one that should have dipped and did not, where nothing else of its station was odd. */
interface Unmoved {
  point: string;
  fromMs: number;
}

class SwappedRule implements PlantRule {
  readonly #points = new Map<string, Watched>();
  /** Under way, by their start. */
  readonly #charges: Charge[] = [];
  /** The same by station, for a reading is weighed with those of its own alone. */
  readonly #ofStation = new Map<string, Charge[]>();
  /** Those that every point is weighed with: of a station whose last charge one of its points did not feel. */
  readonly #everywhere: Charge[] = [];
  readonly #unmoved = new Map<string, Unmoved>();
  /** When each station was charged last [ms]. */
  readonly #chargedMs = new Map<string, number>();
  readonly #odd = new Map<string, { inARow: number; fromMs: number }>();

  constructor(points: readonly WatchedPoint[]) {
    for (const point of points) {
      const { id, station, plausible } = point;
      if (station === null || plausible === null) continue;
      const own = this.#ofStation.get(station) ?? [];
      this.#ofStation.set(station, own);
      const charges = { own, everywhere: this.#everywhere };
      this.#points.set(id, new Watched(point, station, charges));
    }
  }

  ear(point: string): Ear | null {
    return this.#points.get(point) ?? null;
  }

  resume({ point, others: [other = ''], fromMs }: Symptom): void {
    this.#odd.set(pairOf(point, other), { inARow: IN_A_ROW, fromMs });
  }

  loaded(points: readonly string[], startMs: number): void {
    const station = this.#points.get(points[0] ?? '')?.station;
    if (station === undefined) return;
    const isEverywhere = this.#unmoved.has(station);
    const fell: Charge['fell'] = new Map();
    for (const [point, { station: own, lastC }] of this.#points) {
      const isHeard = isEverywhere || own === station;
      if (isHeard && lastC !== null) fell.set(point, { fromC: lastC, leastC: lastC });
    }
    const charge = { station, startMs, points: new Set(points), isEverywhere, fell };
    this.#charges.push(charge);
    if (isEverywhere) this.#everywhere.push(charge);
    else this.#ofStation.get(station)?.push(charge);
    this.#chargedMs.set(station, startMs);
  }

  look(nowMs: number): Symptom[] {
    const over = this.#charges.filter(({ startMs }) => nowMs - startMs >= FELT_MS);
    for (const charge of over) {
      takeOut(this.#charges, charge);
      takeOut(this.#everywhere, charge);
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
  #weigh(charge: Charge): void {
    // Two charges at one time tell nothing of either.
    if (this.#charges.some(({ station }) => station === charge.station)) return;
    const { station, startMs, points, isEverywhere } = charge;
    const { still, strange, foreign } = this.#movedBy(charge);
    const before = this.#unmoved.get(station);
    const [one, ...more] = still;
    const isLone = one !== undefined && more.length === 0;
    const isOwn = strange.length === 0;
    if (isLone && isOwn) {
      const fromMs = before?.point === one ? before.fromMs : startMs;
      this.#unmoved.set(station, { point: one, fromMs });
    } else this.#unmoved.delete(station);
    const [other, ...others] = isOwn ? foreign : strange;
    const pair = isLone && other !== undefined && others.length === 0 ? pairOf(one, other) : null;
    // Where nobody listened elsewhere, nothing is known of a pair over two stations.
    if (pair !== null || !isLone || isEverywhere) this.#forget(points, pair);
    if (pair === null) return;
    const known = this.#odd.get(pair);
    const fromMs = known?.fromMs ?? (isOwn ? (before?.fromMs ?? startMs) : startMs);
    this.#odd.set(pair, { inARow: (known?.inARow ?? 0) + 1, fromMs });
  }

  /** The points that a charge touched and that did not fall, and those that fell without it. */
  #movedBy({ station, startMs, points, fell }: Charge) {
    const still: string[] = [];
    const strange: string[] = [];
    const foreign: string[] = [];
    for (const [point, { fromC, leastC }] of fell) {
      const fallK = fromC - leastC;
      const own = this.#points.get(point)?.station ?? station;
      if (points.has(point)) {
        if (fallK <= NO_DIP_K) still.push(point);
      } else if (fallK >= DIP_K) {
        if (own === station) strange.push(point);
        // A charge of its own station at about that time is reason enough.
        else if (Math.abs((this.#chargedMs.get(own) ?? -Infinity) - startMs) > FELT_MS)
          foreign.push(point);
      }
    }
    return { still, strange, foreign };
  }

  /** A charge that should have shown a pair again, and showed none or another, takes it back. */
  #forget(points: ReadonlySet<string>, shown: string | null): void {
    for (const known of this.#odd.keys()) {
      const [one = '', other = ''] = known.split(' ');
      if (known !== shown && points.has(one) !== points.has(other)) this.#odd.delete(known);
    }
  }
}

/** In one order, whichever of the two was charged. */
function pairOf(one: string, other: string): string {
  return [one, other].sort().join(' ');
}

function takeOut(charges: Charge[], charge: Charge): void {
  const at = charges.indexOf(charge);
  if (at >= 0) charges.splice(at, 1);
}

export const swappedRule: PlantRuleKind = {
  rule: 'swapped',
  doubts: true,
  evidence:
    'two closings in a row a cold charge was felt by one point that it does not touch, of its station or of another, and not by one that it does',
  falseAlarms:
    'a load that was started for the wrong opening or station, twice; a stuck point beside one elsewhere that was cooled at the same time, twice',
  // It goes on with what was found: only a closing tells otherwise.
  needsMs: 0,
  over: (points) => new SwappedRule(points),
};
