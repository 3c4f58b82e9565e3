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

/** A step of more would blur the dip; nothing happens so fast when no board is in. */
const loadedStepS = 2;

/** A hot press as it really is: plates that dip when cold boards come in, each with its own faults. */
export class Press {
  readonly nature: PressNature;
  readonly #seed: number;
  readonly #plates: Map<string, Plate>;
  readonly #boards = new Map<string, { load: string; board: Board }>();

  constructor(nature: PressNature, roomC: number, seed: number) {
    this.nature = nature;
    this.#seed = seed;
    this.#plates = new Map(
      Object.entries(nature.plates).map(([point, plate]) => [point, new Plate(plate, roomC)]),
    );
  }

  /** Lays a board into each of the load's zones. */
  close(load: PlannedLoad, roomC: number): void {
    for (const zone of load.zones)
      this.#boards.set(`${load.opening ?? ''}/${zone}`, {
        load: load.load,
        board: new Board({
          plies: load.recipe === 'shell-9ply' ? 9 : 13,
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

  advance(durationS: number, heating: boolean, roomC: number): void {
    const stepS = this.#boards.size > 0 ? Math.min(loadedStepS, durationS) : durationS;
    for (let left = durationS; left > 0; left -= stepS)
      this.#step(Math.min(stepS, left), heating, roomC);
  }

  #step(stepS: number, heating: boolean, roomC: number): void {
    const drawn = new Map<string, number>();
    for (const { opening, zone, upper, lower } of this.nature.gaps) {
      const inside = this.#boards.get(`${opening ?? ''}/${zone}`);
      if (!inside) continue;
      const heat = inside.board.advance(
        this.#plateAt(upper).tempC,
        this.#plateAt(lower).tempC,
        stepS,
      );
      drawn.set(upper, (drawn.get(upper) ?? 0) + heat.upper);
      drawn.set(lower, (drawn.get(lower) ?? 0) + heat.lower);
    }
    for (const [point, plate] of this.#plates)
      plate.advance(heating ? this.nature.setC : null, roomC, drawn.get(point) ?? 0, stepS);
  }

  #plateAt(point: string): Plate {
    const plate = this.#plates.get(point);
    if (!plate) throw new RangeError(`${this.nature.station} has no plate at ${point}`);
    return plate;
  }

  /** Mean share of full heat, 0 … 1. */
  get output(): number {
    const all = [...this.#plates.values()];
    return all.reduce((sum, plate) => sum + plate.output, 0) / all.length;
  }

  /** What the element in a plate would read if it had no error of its own [°C]. */
  elementC(point: string): number {
    return this.#plateAt(point).elementC;
  }

  outputOf(point: string): number {
    return this.#plateAt(point).output;
  }

  get closed(): boolean {
    return this.#boards.size > 0;
  }
}
