import { Conduction } from '../heat/conduction.ts';
import { WetConduction } from '../heat/evaporation.ts';
import { cutSlab, nodeAt, type PlatenMetal, type Slab, type SlabLayer } from '../heat/slab.ts';
import type { InitialC, Layup, Part, Recipe, Tolerance } from '../plant/recipe-schema.ts';
import { exp } from '../units/exponential.ts';
import { coldToolNodes } from './cold-tool.ts';
import type { ScoredZone, ScoreInput } from './shape.ts';
import { STILL_AIR_WPerM2K } from './still-air.ts';

/** Where in a piece cure is judged. */
export interface Spot {
  glueLine: number | null;
  depthMm: number | null;
  node: number;
}

/** Water that the heat has to drive out of each glue line. */
export interface WetGlue {
  waterKgPerM2PerLine: number;
  leastShare: number;
  mostShare: number;
}

/** What stands between the sensors: a lay-up, a slab in air, a piece with one temperature. */
export interface Piece {
  spots: Spot[];
  slab: Slab | null;
  tolerance: Tolerance;
  initialC: InitialC | null;
  upperWPerM2K: number;
  lowerWPerM2K: number;
  /** The face that nothing heats, under one-sided heating. */
  openFace: 'upper' | 'lower' | null;
  timeConstantS: number;
  wet: WetGlue | null;
  /** Nodes of the lay-up itself: before and behind it is platen metal, as warm as its point at the start. */
  ownNodes: [from: number, to: number];
  /** Nodes of the tool at the open face, carried over from the closing before. */
  coldTool: [from: number, to: number] | null;
}

/** Contact of a recipe that states none [W/(m²·K)]; common practice, no source. */
const CONTACT_WPerM2K = 500;

/** The piece of a zone, from the recipe's lay-up, place or part; null where a press recipe has none. */
export function pieceOf(input: ScoreInput, zone: ScoredZone): Piece | null {
  const { recipe } = input;
  if (recipe.kind !== 'press') return partPiece(partOf(recipe, zone), recipe.kind);
  const place = recipe.places?.find(({ zones }) => zones.includes(zone.id));
  const layup = place?.layup ?? recipe.layup;
  if (layup === undefined) return null;
  const piece = layupPiece(layup, zone);
  if (input.station.heating !== 'one-sided') return piece;
  const openFace = zone.upper === null ? 'upper' : 'lower';
  const coldTool = piece.slab === null ? null : coldToolNodes(layup.layers, piece.slab, openFace);
  return { ...piece, openFace, coldTool };
}

/** The part itself, or the place of it that the zone is judged at. */
function partOf(
  recipe: Exclude<Recipe, { kind: 'press' }>,
  { place }: ScoredZone,
): Part | undefined {
  if (recipe.kind !== 'oven' || recipe.places === undefined) return recipe.part;
  return recipe.places.find(({ id }) => id === place)?.part;
}

/** Metal before a face lies behind that face's contact; its point then holds the metal, not the face. */
function layupPiece(layup: Layup, { upperMetal, lowerMetal }: ScoredZone): Piece {
  const contactWPerM2K = layup.contactWPerM2K ?? CONTACT_WPerM2K;
  const contact = { contactWPerM2K };
  const layers: SlabLayer[] = [...layup.layers];
  if (upperMetal !== undefined) layers.unshift({ platen: upperMetal }, contact);
  if (lowerMetal !== undefined) layers.push(contact, { platen: lowerMetal });
  const slab = cutSlab(layers);
  const ownNodes = ownNodesOf(slab, upperMetal, lowerMetal);
  const topMm = upperMetal?.thicknessMm ?? 0;
  if (topMm > 0) slab.depthsMm = slab.depthsMm.map((mm) => mm - topMm);
  const { evaporation } = layup;
  return {
    slab,
    spots: spotsOf(slab, ownNodes),
    tolerance: layup.tolerance ?? {},
    initialC: layup.initialC,
    upperWPerM2K: upperMetal === undefined ? contactWPerM2K : Infinity,
    lowerWPerM2K: lowerMetal === undefined ? contactWPerM2K : Infinity,
    openFace: null,
    timeConstantS: 0,
    wet:
      evaporation === undefined
        ? null
        : {
            waterKgPerM2PerLine: evaporation.waterKgPerM2PerLine,
            leastShare: evaporation.share[0],
            mostShare: evaporation.share[1],
          },
    ownNodes,
    coldTool: null,
  };
}

/** The lay-up lies between the first and the last contact where there is metal before a face. */
function ownNodesOf(
  { depthsMm, variesAs }: Slab,
  upperMetal: PlatenMetal | undefined,
  lowerMetal: PlatenMetal | undefined,
): [number, number] {
  const from = upperMetal === undefined ? 0 : variesAs.indexOf('contact') + 1;
  const to = lowerMetal === undefined ? depthsMm.length : variesAs.lastIndexOf('contact') + 1;
  return [from, to];
}

/** Every glue line; a lay-up of one layer is judged in its middle, the last to be warm. */
function spotsOf(slab: Slab, [from, to]: Piece['ownNodes']): Spot[] {
  if (slab.glueLineNodes.length === 0) {
    const node = nodeAt(slab, 0.5 * (slab.depthsMm[from] + slab.depthsMm[to - 1]));
    return [{ glueLine: null, depthMm: slab.depthsMm[node], node }];
  }
  return slab.glueLineNodes.map((node, index) => ({
    glueLine: index + 1,
    depthMm: slab.depthsMm[node],
    node,
  }));
}

function partPiece(part: Part | undefined, kind: Recipe['kind']): Piece {
  const common = {
    tolerance: part?.tolerance ?? {},
    initialC: part?.initialC ?? null,
    openFace: null,
    coldTool: null,
    wet: null,
  };
  if (part !== undefined && 'layers' in part) {
    const slab = cutSlab(part.layers);
    const ownNodes: Piece['ownNodes'] = [0, slab.depthsMm.length];
    // A coat lies on the part, the glue of a rack or bench inside of it.
    const isGlued = (kind === 'rack' || kind === 'bench') && slab.glueLineNodes.length > 0;
    return {
      ...common,
      slab,
      ownNodes,
      spots: isGlued ? spotsOf(slab, ownNodes) : [{ glueLine: null, depthMm: 0, node: 0 }],
      upperWPerM2K: part.convectionWPerM2K,
      lowerWPerM2K: part.face === 'both' ? part.convectionWPerM2K : 0,
      timeConstantS: 0,
    };
  }
  return {
    ...common,
    slab: null,
    ownNodes: [0, 1],
    spots: [{ glueLine: null, depthMm: null, node: 0 }],
    upperWPerM2K: 0,
    lowerWPerM2K: 0,
    timeConstantS: part !== undefined && 'timeConstantMin' in part ? part.timeConstantMin * 60 : 0,
  };
}

/** Follows its air at once: it has no temperature of its own. */
export function followsAir({ slab, timeConstantS }: Piece): boolean {
  return slab === null && timeConstantS === 0;
}

/** How a run changes a piece: 1 leaves it as the recipe says. */
export interface Variation {
  diffusivity: number;
  contact: number;
  /** An open face loses heat to the coldest surroundings instead of none. */
  openFaceLoses: boolean;
}

/** Advances temperatures and water of a piece over one step, in place; both faces linear over it. */
export type Step = (
  tempC: Float64Array,
  waterKgPerM2: Float64Array,
  upperFromC: number,
  upperToC: number,
  lowerFromC: number,
  lowerToC: number,
) => void;

/** @param order 1 keeps the maximum principle, 2 is more exact */
export function stepOf(piece: Piece, stepS: number, order: 1 | 2, vary: Variation): Step {
  if (piece.slab !== null) {
    const open = vary.openFaceLoses ? STILL_AIR_WPerM2K : 0;
    const contacts = {
      upperWPerM2K: piece.openFace === 'upper' ? open : piece.upperWPerM2K * vary.contact,
      lowerWPerM2K: piece.openFace === 'lower' ? open : piece.lowerWPerM2K * vary.contact,
    };
    if (piece.wet !== null) {
      const wet = new WetConduction(piece.slab, contacts, stepS, order, vary);
      return (tempC, water, ...faces) => wet.step(tempC, water, ...faces);
    }
    const body = new Conduction(piece.slab, contacts, stepS, order, vary);
    return (tempC, _water, ...faces) => body.step(tempC, ...faces);
  }
  const lagS = piece.timeConstantS / (vary.diffusivity * vary.contact);
  if (lagS === 0) {
    return (tempC, _water, _uFrom, uTo) => {
      tempC[0] = uTo;
    };
  }
  // Exact for air that changes linearly over the step.
  const decay = exp(-stepS / lagS);
  return (tempC, _water, uFrom, uTo) => {
    const behindK = ((uTo - uFrom) / stepS) * lagS;
    tempC[0] = uTo - behindK + (tempC[0] - uFrom + behindK) * decay;
  };
}

/** Water that has to go from each glue line under a run's share of it [kg/m²]; none where the glue is dry. */
export function waterOf({ slab, wet }: Piece, share: number): Float64Array {
  const lines = slab?.glueLineNodes.length ?? 0;
  const shareKept = Math.min(1, Math.max(0, share));
  return new Float64Array(lines).fill(shareKept * (wet?.waterKgPerM2PerLine ?? 0));
}

export function sizeOf(piece: Piece): number {
  return piece.slab?.depthsMm.length ?? 1;
}
