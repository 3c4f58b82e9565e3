import { Board, type BoardNature } from './board.ts';
import { Plate, type PlateNature } from './plate.ts';
import { scatter } from './chance.ts';
import type { PlannedLoad } from './schedule.ts';

/** A space between two plates; a board may be in it. */
export interface Gap {
  /** Its name in a load's events: opening and zone. */
  opening: string | null;
  zone: string;
  /** Points of the plates above and below. */
  upper: string;
  lower: string;
}

export interface PressNature {
  station: string;
  /** By point, in plant order. */
  plates: Record<string, PlateNature>;
  gaps: Gap[];
  setC: number;
  /** Beech as it comes, before each board's own scatter. */
  board: Omit<BoardNature, 'plies' | 'startC'>;
}

/** A step of more would blur the dip; nothing happens so fast when no board is in [s]. */
const usualLoadedStepS = 2;

/** A hot press as it really is: plates that dip when cold boards come in, each with its own faults. */
export class Press {
  readonly nature: PressNature;
  readonly #seed: number;
  readonly #loadedStepS: number;
  readonly #plates: Map<string, Plate>;
  readonly #gaps: { key: string; upper: DrawnPlate; lower: DrawnPlate }[];
  readonly #drawn: DrawnPlate[];
  readonly #boards = new Map<string, { load: string; board: Board }>();

  constructor(
    nature: PressNature,
    roomC: number,
    seed: number,
    loadedStepS: number = usualLoadedStepS,
  ) {
    this.nature = nature;
    this.#seed = seed;
    this.#loadedStepS = loadedStepS;
    this.#plates = new Map(
      Object.entries(nature.plates).map(([point, plate]) => [point, new Plate(plate, roomC)]),
    );
    const drawn = new Map(
      [...this.#plates].map(([point, plate]) => [point, { plate, wPerM2: 0 }] as const),
    );
    this.#drawn = [...drawn.values()];
    this.#gaps = nature.gaps.map(({ opening, zone, upper, lower }) => ({
      key: keyOf(opening, zone),
      upper: plateAt(drawn, upper, nature.station),
      lower: plateAt(drawn, lower, nature.station),
    }));
  }

  /** Lays a board into each of the load's zones. */
  close(load: PlannedLoad, roomC: number): void {
    for (const zone of load.zones)
      this.#boards.set(keyOf(load.opening, zone), {
        load: load.load,
        board: new Board({
          plies: load.recipe.includes('9ply') ? 9 : 13,
          ...this.nature.board,
          // No two boards are alike, and nobody tells the recipe.
          conductivityWPerMK:
            this.nature.board.conductivityWPerMK *
            (1 + scatter(0.03, this.#seed, load.load, zone, 'k')),
          contactWPerM2K:
            this.nature.board.contactWPerM2K *
            (1 + scatter(0.08, this.#seed, load.load, zone, 'h')),
          startC: roomC + scatter(1, this.#seed, load.load, zone, 'start'),
        }),
      });
  }

  open(load: string): void {
    for (const [gap, board] of this.#boards) if (board.load === load) this.#boards.delete(gap);
  }

  /** @param setC set point [°C]; null: heat is off */
  advance(durationS: number, setC: number | null, roomC: number): void {
    const stepS = this.#boards.size > 0 ? Math.min(this.#loadedStepS, durationS) : durationS;
    for (let left = durationS; left > 0; left -= stepS)
      this.#step(Math.min(stepS, left), setC, roomC);
  }

  #step(stepS: number, setC: number | null, roomC: number): void {
    for (const each of this.#drawn) each.wPerM2 = 0;
    if (this.#boards.size > 0) this.#drawHeat(stepS);
    for (const { plate, wPerM2 } of this.#drawn) plate.advance(setC, roomC, wPerM2, stepS);
  }

  #drawHeat(stepS: number): void {
    for (const { key, upper, lower } of this.#gaps) {
      const inside = this.#boards.get(key);
      if (inside === undefined) continue;
      const heat = inside.board.advance(upper.plate.tempC, lower.plate.tempC, stepS);
      upper.wPerM2 += heat.upper;
      lower.wPerM2 += heat.lower;
    }
  }

  /** Mean share of full heat, 0 … 1. */
  get output(): number {
    const all = [...this.#plates.values()];
    return all.reduce((sum, plate) => sum + plate.output, 0) / all.length;
  }

  /** What the element in a plate would read if it had no error of its own [°C]. */
  elementC(point: string): number {
    return plateAt(this.#plates, point, this.nature.station).elementC;
  }

  /** The same of its controller's element, deeper in it [°C]. */
  deepElementC(point: string): number {
    return plateAt(this.#plates, point, this.nature.station).deepElementC;
  }

  outputOf(point: string): number {
    return plateAt(this.#plates, point, this.nature.station).output;
  }

  get closed(): boolean {
    return this.#boards.size > 0;
  }
}

/** A plate and what the boards on its faces draw from it in a step. */
interface DrawnPlate {
  plate: Plate;
  wPerM2: number;
}

function keyOf(opening: string | null, zone: string): string {
  return `${opening ?? ''}/${zone}`;
}

function plateAt<Of>(plates: ReadonlyMap<string, Of>, point: string, station: string): Of {
  const plate = plates.get(point);
  if (plate === undefined) throw new RangeError(`${station} has no plate at ${point}`);
  return plate;
}
