import type { Layer } from '../plant/recipe-schema.ts';
import { woodThermal, type Thermal } from './wood.ts';

/** Nodes through a lay-up; a glue line always falls on one. */
export interface Slab {
  /** Depth of each node below the upper face of the first layer [mm]. */
  depthsMm: number[];
  /** Heat capacity that belongs to each node [J/(m²·K)]. */
  capacityJPerM2K: number[];
  /** Between node i and i + 1 [W/(m²·K)]. */
  conductanceWPerM2K: number[];
  /** Glue lines from the top: the node each lies on. */
  glueLineNodes: number[];
  thicknessMm: number;
}

/** Nodes are at most this share of the whole apart, so that the space error stays below 0.01 K. */
const COARSEST_SHARE = 1 / 40;

interface Ply extends Thermal {
  thicknessMm: number;
  wood: boolean;
}

/**
 * Cuts a lay-up into nodes.
 *
 * Second order in space: each node owns half of its two neighbouring pieces, and every boundary
 * between layers is a node.
 *
 * @param layers from the top
 * @param coarsestShare greatest piece as a share of the whole thickness
 * @throws RangeError for a material without known properties: the reader has refused it before
 */
export function cutSlab(layers: readonly Layer[], coarsestShare = COARSEST_SHARE): Slab {
  const plies = layers.flatMap(pliesOf);
  let thicknessMm = 0;
  for (const ply of plies) thicknessMm += ply.thicknessMm;
  const coarsestMm = thicknessMm * coarsestShare;
  const slab: Slab = {
    depthsMm: [0],
    capacityJPerM2K: [0],
    conductanceWPerM2K: [],
    glueLineNodes: [],
    thicknessMm,
  };
  let topMm = 0;
  plies.forEach((ply, index) => {
    const above = plies[index - 1];
    if (above?.wood === true && ply.wood) slab.glueLineNodes.push(slab.depthsMm.length - 1);
    addPly(slab, ply, topMm, Math.max(1, Math.ceil(ply.thicknessMm / coarsestMm)));
    topMm += ply.thicknessMm;
  });
  return slab;
}

function addPly(slab: Slab, ply: Ply, topMm: number, pieces: number): void {
  const pieceM = ply.thicknessMm / pieces / 1000;
  const halfJPerM2K = 0.5 * ply.densityKgPerM3 * ply.heatCapacityJPerKgK * pieceM;
  for (let piece = 1; piece <= pieces; piece += 1) {
    slab.capacityJPerM2K[slab.capacityJPerM2K.length - 1] += halfJPerM2K;
    slab.conductanceWPerM2K.push(ply.conductivityWPerMK / pieceM);
    slab.depthsMm.push(topMm + (ply.thicknessMm * piece) / pieces);
    slab.capacityJPerM2K.push(halfJPerM2K);
  }
}

/** Glue lies between layers that are made of wood, and between repeated layers of any kind. */
function pliesOf(layer: Layer): Ply[] {
  const thermal =
    'material' in layer
      ? woodThermal(layer.material, layer.moisturePct ?? 8, layer.densityKgPerM3 ?? null)
      : layer;
  if (thermal === null) {
    throw new RangeError(`no properties known for ${'material' in layer ? layer.material : ''}`);
  }
  const ply: Ply = {
    conductivityWPerMK: thermal.conductivityWPerMK,
    densityKgPerM3: thermal.densityKgPerM3,
    heatCapacityJPerKgK: thermal.heatCapacityJPerKgK,
    thicknessMm: layer.thicknessMm,
    wood: 'material' in layer || layer.count > 1,
  };
  return Array.from({ length: layer.count }, () => ply);
}
