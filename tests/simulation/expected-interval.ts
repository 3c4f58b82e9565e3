import { Board } from '@setwell/deploy/demo/board';

/** Temperatures of the two faces at a time after the press closed [°C]. */
export type Faces = (seconds: number) => { upper: number; lower: number };

/** Low, nominal and high of the demo's 13-ply shell at each glue line, at some times. */
export interface Expected {
  minutes: number;
  lines: { low: number; nominal: number; high: number }[];
}

/**
 * The demo's 13-ply shell, worked out beside the program: the simulator's conduction, plain
 * `Math.exp`, and the textbook way to an interval.
 *
 * Each doubtful input is moved alone by its expanded uncertainty, its effects are added as a root of
 * squares. A half-width a counts as 2a/√3 (rectangular, k = 2).
 *
 * @source JCGM 100:2008, 4.3.7, 5.1.2 and 6.2
 */
const expandedOf = (halfWidth: number): number => (2 * halfWidth) / Math.sqrt(3);

const inputs = [
  { faceK: 0.5 },
  { faceK: expandedOf(1.5) },
  { diffusivity: expandedOf(0.08) },
  { contact: expandedOf(0.2) },
];

const stepS = 1;

/** Outside of it the source vouches for nothing: the low way earns nothing there. */
const validC = [105, 150] as const;

export function expectedInterval(faces: Faces, minutes: readonly number[]): Expected[] {
  const low = spread(faces, minutes, validC);
  const high = spread(faces, minutes, [-273.15, Number.POSITIVE_INFINITY]);
  return minutes.map((at, row) => ({
    minutes: at,
    lines: high.nominal[row]!.map((nominal, line) => ({
      low: low.nominal[row]![line]! - Math.hypot(...low.down.map((run) => run[row]![line]!)),
      nominal,
      high: nominal + Math.hypot(...high.up.map((run) => run[row]![line]!)),
    })),
  }));
}

/** The sums themselves, and how far each input alone moves them up and down. */
function spread(faces: Faces, minutes: readonly number[], earnsC: readonly [number, number]) {
  const nominal = equivalentMinutes(faces, minutes, earnsC, {});
  const effects = (input: Moved): number[][] =>
    equivalentMinutes(faces, minutes, earnsC, input).map((sums, row) =>
      sums.map((sum, line) => sum - nominal[row]![line]!),
    );
  return { nominal, up: inputs.map(effects), down: inputs.map(negative).map(effects) };
}

interface Moved {
  faceK?: number;
  diffusivity?: number;
  contact?: number;
}

function negative({ faceK = 0, diffusivity = 0, contact = 0 }: Moved): Moved {
  return { faceK: -faceK, diffusivity: -diffusivity, contact: -contact };
}

/** Equivalent minutes at 135 °C of each glue line after each of `minutes`; 90 kJ/mol. */
function equivalentMinutes(
  faces: Faces,
  minutes: readonly number[],
  [leastC, mostC]: readonly [number, number],
  { faceK = 0, diffusivity = 0, contact = 0 }: Moved,
): number[][] {
  const board = new Board({
    plies: 13,
    plyMm: 1.5,
    conductivityWPerMK: 0.17,
    densityKgPerM3: 720 / (1 + diffusivity),
    heatCapacityJPerKgK: 1700,
    contactWPerM2K: 500 * (1 + contact),
    startC: 20,
  });
  const sums = Array.from({ length: board.lines }, () => 0);
  const rows: number[][] = [];
  for (let s = stepS; s <= Math.round(Math.max(...minutes) * 60); s += stepS) {
    const { upper, lower } = faces(s);
    board.advance(upper + faceK, lower + faceK, stepS);
    for (const line of sums.keys()) {
      const atC = board.lineC(line + 1);
      if (atC < leastC || atC > mostC) continue;
      const rate = Math.exp((-90_000 / 8.314462618) * (1 / (atC + 273.15) - 1 / 408.15));
      sums[line]! += (rate * stepS) / 60;
    }
    if (minutes.some((at) => Math.round(at * 60) === s)) rows.push([...sums]);
  }
  return rows;
}
