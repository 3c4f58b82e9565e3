import type { Layer } from '../plant/recipe-schema.ts';
import { materialOf, type Material } from './materials.ts';
import type { Thermal } from './wood.ts';

/** Metal between a sensor and the face it is under: its properties are no doubt of the lay-up's. */
export interface PlatenMetal extends Thermal {
  thicknessMm: number;
}

export type SlabLayer = Layer | { platen: PlatenMetal };

/** What a "what if" changes of a conductance: boards differ, contacts differ, a platen stays as it is. */
export type VariesAs = 'layer' | 'contact' | 'platen';

/** Nodes through a lay-up; a glue line always falls on one. */
export interface Slab {
  /** Depth of each node below the upper face of the first layer [mm]. */
  depthsMm: number[];
  /** Heat capacity that belongs to each node [J/(m²·K)]. */
  capacityJPerM2K: number[];
  /** Between node i and i + 1 [W/(m²·K)]. */
  conductanceWPerM2K: number[];
  /** Of each conductance. */
  variesAs: VariesAs[];
  /** Glue lines from the top: the node each lies on. */
  glueLineNodes: number[];
  thicknessMm: number;
}

/** Heat takes at most this share of its way through the whole between two nodes. */
const COARSEST_SHARE = 1 / 52;

/** Depths closer than this are one: sums of thicknesses carry rounding. */
const SAME_MM = 1e-6;

interface Ply extends Material {
  thicknessMm: number;
  variesAs: 'layer' | 'platen';
}

/** Two nodes at one depth. */
interface Contact {
  contactWPerM2K: number;
}

/**
 * Cuts a lay-up into nodes.
 *
 * Second order in space: each node owns half of its two neighbouring pieces, and every boundary
 * between layers is a node. Pieces are measured by how long heat needs to cross them, so that a thin
 * ply of wood gets more than a thick platen of steel.
 *
 * @param layers from the top; a contact lies between two that have a thickness
 * @param coarsestShare greatest piece as a share of the whole, by √time to cross
 * @param atMm depths that must be nodes as well [mm], inside the lay-up
 * @throws RangeError for a material without known properties: the reader has refused it before
 */
export function cutSlab(
  layers: readonly SlabLayer[],
  coarsestShare = COARSEST_SHARE,
  atMm: readonly number[] = [],
): Slab {
  const plies = layers.flatMap(pliesOf);
  let thicknessMm = 0;
  let wholeRootS = 0;
  for (const ply of plies) {
    if ('contactWPerM2K' in ply) continue;
    thicknessMm += ply.thicknessMm;
    wholeRootS += crossingRootS(ply, ply.thicknessMm);
  }
  const slab: Slab = {
    depthsMm: [0],
    capacityJPerM2K: [0],
    conductanceWPerM2K: [],
    variesAs: [],
    glueLineNodes: [],
    thicknessMm,
  };
  let topMm = 0;
  plies.forEach((ply, index) => {
    if ('contactWPerM2K' in ply) {
      addContact(slab, topMm, ply.contactWPerM2K);
      return;
    }
    const above = plies[index - 1];
    if (above !== undefined && isGlued(above, ply))
      slab.glueLineNodes.push(slab.depthsMm.length - 1);
    const bottomMm = topMm + ply.thicknessMm;
    const cutsMm = atMm
      .filter((mm) => mm > topMm + SAME_MM && mm < bottomMm - SAME_MM)
      .sort((a, b) => a - b);
    let fromMm = topMm;
    for (const toMm of [...cutsMm, bottomMm]) {
      if (toMm - fromMm <= SAME_MM) continue;
      const share = crossingRootS(ply, toMm - fromMm) / wholeRootS;
      addPieces(slab, ply, fromMm, toMm, Math.max(1, Math.ceil(share / coarsestShare - 1e-9)));
      fromMm = toMm;
    }
    topMm = bottomMm;
  });
  return slab;
}

/** The node nearest to a depth. */
export function nodeAt({ depthsMm }: Slab, mm: number): number {
  let nearest = 0;
  depthsMm.forEach((depth, node) => {
    if (Math.abs(depth - mm) < Math.abs(depthsMm[nearest] - mm)) nearest = node;
  });
  return nearest;
}

/** Whether a glue line holds two neighbours together. */
function isGlued(above: Ply | Contact, below: Ply): boolean {
  return !('contactWPerM2K' in above) && !above.tool && !below.tool;
}

/** Time heat needs to cross the layers, contacts left out [s]. */
export function crossingTimeS(layers: readonly SlabLayer[]): number {
  let rootS = 0;
  for (const ply of layers.flatMap(pliesOf)) {
    if (!('contactWPerM2K' in ply)) rootS += crossingRootS(ply, ply.thicknessMm);
  }
  return rootS * rootS;
}

/** √(L²/α) [s^½] */
function crossingRootS(ply: Material, thicknessMm: number): number {
  const { conductivityWPerMK, densityKgPerM3, heatCapacityJPerKgK } = ply;
  return (
    (thicknessMm / 1000) * Math.sqrt((densityKgPerM3 * heatCapacityJPerKgK) / conductivityWPerMK)
  );
}

function addPieces(slab: Slab, ply: Ply, fromMm: number, toMm: number, pieces: number): void {
  const pieceM = (toMm - fromMm) / pieces / 1000;
  const halfJPerM2K = 0.5 * ply.densityKgPerM3 * ply.heatCapacityJPerKgK * pieceM;
  for (let piece = 1; piece <= pieces; piece += 1) {
    slab.capacityJPerM2K[slab.capacityJPerM2K.length - 1] += halfJPerM2K;
    slab.conductanceWPerM2K.push(ply.conductivityWPerMK / pieceM);
    slab.variesAs.push(ply.variesAs);
    slab.depthsMm.push(piece === pieces ? toMm : fromMm + ((toMm - fromMm) * piece) / pieces);
    slab.capacityJPerM2K.push(halfJPerM2K);
  }
}

/** Both sides of a contact are nodes; the one below gets its heat capacity from its own layer. */
function addContact(slab: Slab, atMm: number, contactWPerM2K: number): void {
  slab.conductanceWPerM2K.push(contactWPerM2K);
  slab.variesAs.push('contact');
  slab.depthsMm.push(atMm);
  slab.capacityJPerM2K.push(0);
}

/** Layers one by one: a count of 13 is 13 plies. */
function pliesOf(layer: SlabLayer): (Ply | Contact)[] {
  if ('platen' in layer) return [{ ...layer.platen, tool: true, variesAs: 'platen' }];
  if ('contactWPerM2K' in layer) return [layer];
  const material = materialOf(layer);
  if (material === null) {
    throw new RangeError(`no properties known for ${'material' in layer ? layer.material : ''}`);
  }
  const ply: Ply = { ...material, thicknessMm: layer.thicknessMm, variesAs: 'layer' };
  return Array.from({ length: layer.count }, () => ply);
}
