import type { Layup } from '../../plant/recipe-schema.ts';
import { Conduction, type FaceContacts } from '../conduction.ts';
import type { FaceCourse } from '../course.ts';
import { WetConduction } from '../evaporation.ts';
import { crossingTimeS, cutSlab, nodeAt, type Slab } from '../slab.ts';

/** What a calibration run can tell of a test piece. */
export type PieceConstant = 'start' | 'contact' | 'diffusivity' | 'offset' | 'plateau';

/** Contact of a lay-up that states none [W/(m²·K)]; common practice, no source. */
const CONTACT_WPerM2K = 500;

/** Pieces and steps as shares of the way through and of its time: errors far below a thermocouple's. */
const PIECE_SHARE = 1 / 150;
const STEP_SHARE = 1 / 1000;

/** Added to the offset, so that a step of a difference has a size where the offset is zero [K]. */
const OFFSET_FROM_K = 10;

/** The same of the start: kelvins. */
const START_FROM_K = 273.15;

/** A fit's parameter is near 1 or in tens: what the numbers of a run mean. */
export interface PieceNumbers {
  /** Throughout [°C]. */
  startC: number;
  /** Of the faces without a contact of their own, and a factor on contacts between layers. */
  contactFactor: number;
  diffusivityFactor: number;
  /** The face is so much hotter than its sensor says [K]. */
  offsetK: number;
  /** Share of the glue's water that the heat drives out. */
  plateauShare: number;
}

/**
 * Temperatures at thermocouples in a test piece, by the equations that loads are scored with, for
 * constants that are to be found.
 */
export class PieceModel {
  readonly constants: PieceConstant[];
  readonly start: number[];
  readonly contactWPerM2K: number;
  private readonly layup: Layup;
  private readonly faces: FaceCourse;
  private readonly slab: Slab;
  private readonly nodes: number[];
  private readonly longestS: number;

  /**
   * @param depthsMm of the thermocouples, below the upper face of the first layer
   * @param startC of the piece, about [°C]
   */
  constructor(layup: Layup, faces: FaceCourse, depthsMm: readonly number[], startC: number) {
    this.layup = layup;
    this.faces = faces;
    this.contactWPerM2K = layup.contactWPerM2K ?? CONTACT_WPerM2K;
    this.slab = cutSlab(layup.layers, PIECE_SHARE, depthsMm);
    this.nodes = depthsMm.map((mm) => nodeAt(this.slab, mm));
    this.longestS = STEP_SHARE * crossingTimeS(layup.layers);
    const all: [PieceConstant, number][] = [
      ['start', startC + START_FROM_K],
      ...(this.hasContact() ? ([['contact', 1]] as [PieceConstant, number][]) : []),
      ['diffusivity', 1],
      ['offset', OFFSET_FROM_K],
    ];
    const { evaporation } = layup;
    if (evaporation !== undefined) {
      all.push(['plateau', 0.5 * (evaporation.share[0] + evaporation.share[1])]);
    }
    this.constants = all.map(([constant]) => constant);
    this.start = all.map(([, value]) => value);
  }

  /** Whether any heat crosses a contact that is not given by itself. */
  private hasContact(): boolean {
    const { layers, faces } = this.layup;
    return (
      faces?.upper === undefined ||
      faces.lower === undefined ||
      layers.some((layer) => 'contactWPerM2K' in layer)
    );
  }

  numbersOf(parameters: readonly number[]): PieceNumbers {
    const of = (constant: PieceConstant, otherwise: number) => {
      const at = this.constants.indexOf(constant);
      return at < 0 ? otherwise : parameters[at];
    };
    return {
      startC: of('start', START_FROM_K) - START_FROM_K,
      contactFactor: of('contact', 1),
      diffusivityFactor: of('diffusivity', 1),
      offsetK: of('offset', OFFSET_FROM_K) - OFFSET_FROM_K,
      plateauShare: of('plateau', 0),
    };
  }

  /**
   * One row a face's time, one value a thermocouple [°C].
   *
   * @param swapped the upper face's readings at the lower face, and the other way round
   * @returns null outside the constants' domain
   */
  run(parameters: readonly number[], swapped = false): number[][] | null {
    const { startC, contactFactor, diffusivityFactor, offsetK, plateauShare } =
      this.numbersOf(parameters);
    if (!(contactFactor > 0 && diffusivityFactor > 0)) return null;
    if (!(plateauShare >= 0 && plateauShare <= 1)) return null;
    const { faces, slab } = this;
    const contacts = this.contactsBy(contactFactor);
    const vary = { diffusivity: diffusivityFactor, contact: contactFactor };
    const { evaporation } = this.layup;
    const water = new Float64Array(slab.glueLineNodes.length).fill(
      plateauShare * (evaporation?.waterKgPerM2PerLine ?? 0),
    );
    const upperC = swapped ? faces.lowerC : faces.upperC;
    const lowerC = swapped ? faces.upperC : faces.lowerC;
    const tempC = new Float64Array(slab.depthsMm.length).fill(startC);
    const rows = [this.nodes.map((node) => tempC[node])];
    const bodies = new Map<number, Conduction | WetConduction>();
    for (let row = 1; row < faces.timesS.length; row += 1) {
      const wholeS = faces.timesS[row] - faces.timesS[row - 1];
      const steps = Math.max(1, Math.ceil(wholeS / this.longestS - 1e-9));
      const stepS = wholeS / steps;
      let body = bodies.get(stepS);
      if (body === undefined) {
        const Body = evaporation === undefined ? Conduction : WetConduction;
        body = new Body(slab, contacts, stepS, 2, vary);
        bodies.set(stepS, body);
      }
      for (let step = 0; step < steps; step += 1) {
        const at = (values: readonly number[], share: number) =>
          values[row - 1] + share * (values[row] - values[row - 1]) + offsetK;
        const [from, to] = [step / steps, (step + 1) / steps];
        const ends = [
          ...[at(upperC, from), at(upperC, to)],
          ...[at(lowerC, from), at(lowerC, to)],
        ] as [number, number, number, number];
        if (body instanceof WetConduction) body.step(tempC, water, ...ends);
        else body.step(tempC, ...ends);
      }
      rows.push(this.nodes.map((node) => tempC[node]));
    }
    return rows;
  }

  private contactsBy(factor: number): FaceContacts {
    const of = (face: NonNullable<Layup['faces']>['upper']): number => {
      if (face === undefined) return factor * this.contactWPerM2K;
      if ('contactWPerM2K' in face) return face.contactWPerM2K;
      return 'insulated' in face ? 0 : Infinity;
    };
    return {
      upperWPerM2K: of(this.layup.faces?.upper),
      lowerWPerM2K: of(this.layup.faces?.lower),
    };
  }
}
