import type { Law, Segments } from './law.ts';

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
  const cut = ({ fromC, toC, durationS }: Segments): void => {
    for (let i = 0; i < durationS.length; i += 1) {
      const startC = fromC[i]!;
      const endC = toC[i]!;
      const lowerC = startC < endC ? startC : endC;
      const upperC = startC < endC ? endC : startC;
      if (lowerC >= lowestC && upperC <= highestC) continue;
      if (upperC < lowestC || lowerC > highestC) {
        durationS[i] = 0;
        continue;
      }
      fromC[i] = Math.min(Math.max(startC, lowestC), highestC);
      toC[i] = Math.min(Math.max(endC, lowestC), highestC);
      durationS[i]! *= (toC[i]! - fromC[i]!) / (endC - startC);
    }
  };
  const one: Segments = {
    fromC: new Float64Array(1),
    toC: new Float64Array(1),
    durationS: new Float64Array(1),
  };
  return {
    ...law,
    advance(state, fromC, toC, durationS) {
      one.fromC[0] = fromC;
      one.toC[0] = toC;
      one.durationS[0] = durationS;
      cut(one);
      return law.advance(state, one.fromC[0], one.toC[0], one.durationS[0]);
    },
    advanceEach(states, segments) {
      cut(segments);
      law.advanceEach(states, segments);
    },
    secondsToReach: (state, target, heldC) =>
      law.value(state) >= target || (heldC >= lowestC && heldC <= highestC)
        ? law.secondsToReach(state, target, heldC)
        : Infinity,
  };
}
