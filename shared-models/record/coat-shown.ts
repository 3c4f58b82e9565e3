import { createLaw } from '../cure/create-law.ts';
import type { MeasureUnit } from '../cure/law.ts';
import type { CoatResult } from '../score/shape.ts';

/** What is told of a coat: all but how it goes on. */
export interface CoatShown extends Omit<CoatResult, 'law' | 'states'> {
  unit: MeasureUnit;
}

export function shownCoat({ law, parts, unjudged, ...coat }: CoatResult): CoatShown {
  const { load, step, total, sum, verdict, endMs } = coat;
  return {
    ...{ coat: coat.coat, load, step, total, sum, verdict, endMs, unit: createLaw(law).unit },
    ...(parts === undefined ? {} : { parts }),
    ...(unjudged === undefined ? {} : { unjudged }),
  };
}

/** The coats of parts with one history, lowest first. */
export interface CoatStack {
  /** Null: all that is in the lot. */
  parts: string[] | null;
  coats: CoatShown[];
}
