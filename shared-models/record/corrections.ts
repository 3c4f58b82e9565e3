import type { LoadCorrected, LoadOpened } from './bodies.ts';

/** A load's beginning as it counts after a correction; the entry stays what it was. */
export function correctedOpening(opened: LoadOpened, change: LoadCorrected['change']): LoadOpened {
  switch (change.what) {
    case 'recipe':
      // What followed from the recipe before follows anew from this one.
      return { ...opened, recipe: change.recipe, plannedEndMs: null, weights: null };
    case 'lot':
      return { ...opened, lot: change.lot, parts: change.parts };
    case 'marks':
      return { ...opened, marks: { ...opened.marks, ...change.marks } };
    case 'void':
    case 'readings':
      return opened;
  }
}
