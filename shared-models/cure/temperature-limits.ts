import type { Law } from './law.ts';

/**
 * The law with its floor and ceiling: nothing is earned below the one and above the other. A segment
 * that crosses a limit is cut there, so the crossing is met and not stepped over.
 *
 * `risesWithTemperature` speaks of the law between its limits.
 */
export function withTemperatureLimits(
  law: Law,
  floorC: number | undefined,
  ceilingC: number | undefined,
): Law {
  if (floorC === undefined && ceilingC === undefined) return law;
  const lowestC = floorC ?? -Infinity;
  const highestC = ceilingC ?? Infinity;
  return {
    ...law,
    advance(state, fromC, toC, durationS) {
      const lowerC = fromC < toC ? fromC : toC;
      const upperC = fromC < toC ? toC : fromC;
      if (lowerC >= lowestC && upperC <= highestC) return law.advance(state, fromC, toC, durationS);
      if (upperC < lowestC || lowerC > highestC) return law.advance(state, fromC, toC, 0);
      const startC = Math.min(Math.max(fromC, lowestC), highestC);
      const endC = Math.min(Math.max(toC, lowestC), highestC);
      const share = (endC - startC) / (toC - fromC);
      return law.advance(state, startC, endC, durationS * share);
    },
    secondsToReach: (state, target, heldC) =>
      law.value(state) >= target || (heldC >= lowestC && heldC <= highestC)
        ? law.secondsToReach(state, target, heldC)
        : Infinity,
  };
}
