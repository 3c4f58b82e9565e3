import { materialOf } from '../heat/materials.ts';
import type { Slab } from '../heat/slab.ts';
import type { Layer } from '../plant/recipe-schema.ts';
import { exp } from '../units/exponential.ts';
import type { LoadFold } from './fold.ts';
import type { Piece } from './piece.ts';
import type { Run } from './run.ts';
import type { CarriedFace, ScoreInput } from './shape.ts';
import { STILL_AIR_WPerM2K } from './still-air.ts';

/** Depths closer than this are one [mm]. */
const SAME_MM = 1e-6;

/** Temperatures a run may start from, at the ends of what is known and most likely [°C]. */
export interface ColdToolStart {
  lowC: number;
  nominalC: number;
  highC: number;
}

/**
 * Nodes of the tool at a face that nothing heats: it stays in the press, and begins as warm as the closing
 * before left it. Null where the lay-up has none there.
 */
export function coldToolNodes(
  layers: readonly Layer[],
  { depthsMm }: Slab,
  face: 'upper' | 'lower',
): [from: number, to: number] | null {
  let toolMm = 0;
  for (const layer of face === 'upper' ? layers : [...layers].reverse()) {
    if ('contactWPerM2K' in layer) continue;
    if (materialOf(layer)?.tool !== true) break;
    toolMm += layer.thicknessMm * layer.count;
  }
  if (toolMm === 0) return null;
  if (face === 'upper') {
    return [0, depthsMm.findIndex((mm) => mm >= toolMm - SAME_MM) + 1];
  }
  const fromMm = depthsMm[depthsMm.length - 1] - toolMm + SAME_MM;
  let from = depthsMm.length - 1;
  while (from > 0 && depthsMm[from] > fromMm) from -= 1;
  return [from, depthsMm.length];
}

/**
 * What the tool may be at the load's start. Since the closing before it has lost heat to the coldest
 * surroundings at most, and none at least; where no closing is known it may be anything.
 */
export function coldToolStart(
  { carried, startMs, station }: ScoreInput,
  zone: string,
  piece: Piece,
  restingC: number,
): ColdToolStart | null {
  if (piece.coldTool === null || piece.slab === null) return null;
  const { surroundingsMinC, supplyMaxC } = station;
  const before = carried?.find((each) => each.zone === zone);
  if (before === undefined) {
    return { lowC: Math.min(surroundingsMinC, restingC), nominalC: restingC, highC: supplyMaxC };
  }
  const coolingS = Math.max(0, startMs - before.atMs) / 1000;
  const [from, to] = piece.coldTool;
  let capacityJPerM2K = 0;
  for (let i = from; i < to; i += 1) capacityJPerM2K += piece.slab.capacityJPerM2K[i];
  const kept = exp((-STILL_AIR_WPerM2K * coolingS) / capacityJPerM2K);
  const floorC = Math.min(surroundingsMinC, before.lowC);
  const lowC = floorC + (before.lowC - floorC) * kept;
  return { lowC, nominalC: 0.5 * (lowC + before.nominalC), highC: before.highC };
}

/** The tools as a load leaves them to the next one. */
export function carriedFaces({ grid, zones }: LoadFold): CarriedFace[] {
  return zones.flatMap((zone) => {
    if (zone === null || zone.piece.coldTool === null) return [];
    const of = (run: Run) => meanC(zone.piece, run);
    const nominalC = of(zone.nominal);
    return [
      {
        zone: zone.zone.id,
        lowC: Math.min(nominalC, of(zone.gapLow), ...zone.lows.map(of)),
        nominalC,
        highC: Math.max(nominalC, of(zone.gapHigh), ...zone.highs.map(of)),
        atMs: grid.endMs,
      },
    ];
  });
}

/** Mean temperature of the tool, by heat [°C]. */
function meanC({ coldTool, slab }: Piece, { tempC }: Run): number {
  if (coldTool === null || slab === null) return NaN;
  let heat = 0;
  let capacity = 0;
  for (let i = coldTool[0]; i < coldTool[1]; i += 1) {
    heat += slab.capacityJPerM2K[i] * tempC[i];
    capacity += slab.capacityJPerM2K[i];
  }
  return heat / capacity;
}
