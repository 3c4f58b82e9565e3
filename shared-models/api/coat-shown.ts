import { createLaw } from '../cure/create-law.ts';
import type { MeasureUnit } from '../cure/law.ts';
import type { CoatResult } from '../score/shape.ts';

/** What is told of a coat: all but how it goes on. */
export interface CoatShown extends Omit<CoatResult, 'law' | 'states'> {
  unit: MeasureUnit;
}

export function shownCoat({ law, states: _, ...told }: CoatResult): CoatShown {
  return { ...told, unit: createLaw(law).unit };
}

/** The coats of parts with one history, lowest first. */
export interface CoatStack {
  /** Null: all that is in the lot. */
  parts: string[] | null;
  coats: CoatShown[];
}
