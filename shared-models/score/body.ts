import { Conduction } from '../heat/conduction.ts';
import { cutSlab, type Slab } from '../heat/slab.ts';
import type { InitialC, Layup, Part, Tolerance } from '../plant/recipe-schema.ts';
import { exp } from '../units/exponential.ts';
import type { ScoreInput } from './shape.ts';

/** Where in a piece cure is judged. */
export interface Spot {
  glueLine: number | null;
  depthMm: number | null;
  node: number;
}

/** What stands between the sensors: a lay-up, a slab in air, a piece with one temperature. */
export interface Piece {
  spots: Spot[];
  slab: Slab | null;
  tolerance: Tolerance;
  initialC: InitialC | null;
  upperWPerM2K: number;
  lowerWPerM2K: number;
  timeConstantS: number;
}

/** Contact of a recipe that states none [W/(m²·K)]; common practice, no source. */
const CONTACT_WPerM2K = 500;

/** The piece of a zone, from the recipe's lay-up, place or part; null where a press recipe has none. */
export function pieceOf(input: ScoreInput, zone: string): Piece | null {
  const { recipe } = input;
  if (recipe.kind !== 'press') return partPiece(recipe.part);
  const place = recipe.places?.find(({ zones }) => zones.includes(zone));
  const layup = place?.layup ?? recipe.layup;
  return layup === undefined ? null : layupPiece(layup);
}

function layupPiece(layup: Layup): Piece {
  const slab = cutSlab(layup.layers);
  const contact = layup.contactWPerM2K ?? CONTACT_WPerM2K;
  return {
    slab,
    spots: slab.glueLineNodes.map((node, index) => ({
      glueLine: index + 1,
      depthMm: slab.depthsMm[node],
      node,
    })),
    tolerance: layup.tolerance ?? {},
    initialC: layup.initialC,
    upperWPerM2K: contact,
    lowerWPerM2K: contact,
    timeConstantS: 0,
  };
}

function partPiece(part: Part | undefined): Piece {
  const common = { tolerance: part?.tolerance ?? {}, initialC: part?.initialC ?? null };
  if (part !== undefined && 'layers' in part) {
    const slab = cutSlab(part.layers);
    const surface = { glueLine: null, depthMm: 0, node: 0 };
    return {
      ...common,
      slab,
      spots: [surface],
      upperWPerM2K: part.convectionWPerM2K,
      lowerWPerM2K: part.face === 'both' ? part.convectionWPerM2K : 0,
      timeConstantS: 0,
    };
  }
  return {
    ...common,
    slab: null,
    spots: [{ glueLine: null, depthMm: null, node: 0 }],
    upperWPerM2K: 0,
    lowerWPerM2K: 0,
    timeConstantS: part !== undefined && 'timeConstantMin' in part ? part.timeConstantMin * 60 : 0,
  };
}

/** How a run changes a piece: 1 leaves it as the recipe says. */
export interface Variation {
  diffusivity: number;
  contact: number;
}

/** Advances the temperatures of a piece over one step, in place; both faces linear over it. */
export type Step = (
  tempC: Float64Array,
  upperFromC: number,
  upperToC: number,
  lowerFromC: number,
  lowerToC: number,
) => void;

/** @param order 1 keeps the maximum principle, 2 is more exact */
export function stepOf(piece: Piece, stepS: number, order: 1 | 2, vary: Variation): Step {
  if (piece.slab !== null) {
    const contacts = {
      upperWPerM2K: piece.upperWPerM2K * vary.contact,
      lowerWPerM2K: piece.lowerWPerM2K * vary.contact,
    };
    const body = new Conduction(piece.slab, contacts, stepS, order, vary.diffusivity);
    return (tempC, uFrom, uTo, lFrom, lTo) => body.step(tempC, uFrom, uTo, lFrom, lTo);
  }
  const lagS = piece.timeConstantS / vary.diffusivity;
  if (lagS === 0) {
    return (tempC, _uFrom, uTo) => {
      tempC[0] = uTo;
    };
  }
  // Exact for air that changes linearly over the step.
  const decay = exp(-stepS / lagS);
  return (tempC, uFrom, uTo) => {
    const behindK = ((uTo - uFrom) / stepS) * lagS;
    tempC[0] = uTo - behindK + (tempC[0] - uFrom + behindK) * decay;
  };
}

export function sizeOf(piece: Piece): number {
  return piece.slab?.depthsMm.length ?? 1;
}
