import { foldLoad, pointsOf } from '../score/fold.ts';
import type { MeasureUnit } from '../cure/law.ts';
import type { ScoredZone, ScoreInput, Side } from '../score/shape.ts';
import { plannedC } from '../score/weigh.ts';
import { runLaws } from '../score/laws.ts';
import { judgedWindow } from '../score/window.ts';
import { forecast } from './forecast.ts';

/** Whether a recipe's window can be proven on a station at all, with what is fitted there. */
export interface Provable {
  /** When a load that goes as planned is proven [min]; null: never. */
  provenAtMin: number | null;
  /** From the lowest low to the highest high at that time: it has to fit into the window. Null: never proven. */
  width: number | null;
  unit: MeasureUnit;
  /** Which end of the window is missed; null where none is. */
  side: Side | null;
}

/**
 * Looks at a load that goes exactly as planned: every face at the planned temperature from the start,
 * read without a gap. What even that cannot prove, no waiting will.
 *
 * @param input of an open load at its start; its readings are made here
 * @param offK how far a face holds from the planned temperature [K]; none: all hold it
 */
export function provable(
  input: ScoreInput,
  offK: ReadonlyMap<string, number> = new Map(),
): Provable {
  const { unit } = judgedWindow(input.recipe, runLaws(input.recipe.law).nominal.unit);
  const first = lookFrom(input, input.plannedEndMs, offK);
  if (first === null) return { provenAtMin: null, width: null, unit, side: 'both' };
  const { provenAtMs, overAtMs } = first;
  if (provenAtMs === null) return { provenAtMin: null, width: null, unit, side: 'short' };
  if (overAtMs !== null && overAtMs < provenAtMs) {
    return { provenAtMin: null, width: null, unit, side: 'long' };
  }
  const then = lookFrom(input, Math.max(provenAtMs, input.startMs + 1), offK)?.atPlan ?? null;
  return {
    provenAtMin: (provenAtMs - input.startMs) / 60_000,
    width: then === null ? null : then.high - then.low,
    unit,
    side: null,
  };
}

/** The plan holds one temperature: where a belt has brought the part makes no difference. */
function asPlanned({ belt, ...zone }: ScoredZone): ScoredZone {
  return belt === undefined ? zone : { ...zone, air: belt.zones[0].air };
}

function lookFrom(
  input: ScoreInput,
  plannedEndMs: number | null,
  offK: ReadonlyMap<string, number>,
) {
  const open: ScoreInput = {
    ...input,
    endMs: null,
    asOfMs: input.startMs,
    marks: { ...input.marks, releaseStart: null },
    plannedEndMs,
    zones: input.zones.map(asPlanned),
  };
  // As read, raw °C: what the points' own corrections would do is not part of the question.
  const sensors = Object.fromEntries(
    Object.entries(open.sensors).map(([point, sensor]) => {
      const plain = { ...sensor, signal: 'celsius', corrections: [], calibratedC: null };
      delete plain.conversion;
      return [point, plain];
    }),
  );
  const value = plannedC(input);
  const readings = pointsOf(open)
    .sort()
    .map((point) => ({ point, tMs: input.startMs, value: value + (offK.get(point) ?? 0) }));
  const asked = { ...open, sensors };
  return forecast(asked, foldLoad(asked, readings), input.startMs);
}
