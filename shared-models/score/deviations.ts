import type { LoadFold } from './fold.ts';
import type { PointHistory } from './point-history.ts';
import type { Deviation, RequirementResult, ScoreInput } from './shape.ts';

/** A face read longer ago says nothing of how it stood before the load [ms]. */
const BEFORE_MS = 10 * 60_000;

/** Without a lower limit of its hold, a face is back within so much of where it stood [K]. Common practice, no source. */
const BACK_WITHIN_K = 2;

/** Without a limit of its own, recovery is over after so long [min]. */
const USUAL_RECOVERY_MIN = 10;

/**
 * Where the faces left the recipe's limits, as they read: on the record, and never a verdict. What
 * nobody read is no breach; it is a gap, and told as one.
 */
export function deviationsOf(
  input: ScoreInput,
  fold: LoadFold,
  requirements: readonly RequirementResult[],
): Deviation[] {
  const faces = input.zones.flatMap((zone) =>
    [zone.upper, zone.lower, zone.air].flatMap((point) => {
      const history = point === null ? undefined : fold.histories.get(point);
      return point === null || history === undefined ? [] : [{ zone: zone.id, point, history }];
    }),
  );
  const ofFaces = faces.flatMap(({ zone, point, history }) =>
    faceDeviations(input, history).map((each): Deviation => ({ zone, what: point, ...each })),
  );
  return [...ofFaces, ...requirements.flatMap(({ deviations }) => deviations)];
}

type Breach = Omit<Deviation, 'zone' | 'what'>;

function faceDeviations(input: ScoreInput, history: PointHistory): Breach[] {
  const { marks, recipe } = input;
  const loadedMs = marks.contact?.earliestMs ?? input.startMs;
  const endMs = marks.releaseStart?.earliestMs ?? input.endMs ?? input.asOfMs;
  const limits = recipe.limits ?? [];
  const recovery = limits.find(({ phase }) => phase === 'recovery');
  const hold = limits.find(({ phase }) => phase === 'hold');
  const holdLeastC = hold?.phase === 'hold' ? hold.minC : null;
  const recoveryMin = recovery?.phase === 'recovery' ? recovery.withinMin : USUAL_RECOVERY_MIN;
  const recoveredMs = loadedMs + recoveryMin * 60_000;
  return limits.flatMap((limit): Breach[] => {
    if (limit.phase === 'recovery') {
      return lateRecovery(history, loadedMs, limit.withinMin, endMs, holdLeastC);
    }
    const [fromMs, toMs] =
      limit.phase === 'before-load' ? [loadedMs - BEFORE_MS, loadedMs] : [recoveredMs, endMs];
    // Before the load only how it stood at last counts.
    const readings = readingsIn(history, fromMs, toMs);
    const asked = limit.phase === 'before-load' ? readings.slice(-1) : readings;
    return outside(limit.phase, asked, limit.minC, limit.maxC);
  });
}

interface FaceReading {
  tMs: number;
  valueC: number;
}

function readingsIn({ timesMs, valuesC }: PointHistory, fromMs: number, toMs: number) {
  const found: FaceReading[] = [];
  for (let i = 0; i < timesMs.length && timesMs[i] <= toMs; i += 1) {
    if (timesMs[i] >= fromMs) found.push({ tMs: timesMs[i], valueC: valuesC[i] });
  }
  return found;
}

/** Below and above, each once: when it began, and its worst. */
function outside(
  phase: Deviation['phase'],
  readings: readonly FaceReading[],
  minC: number,
  maxC: number,
): Breach[] {
  return (['short', 'long'] as const).flatMap((side): Breach[] => {
    let by = 0;
    let atMs: number | null = null;
    for (const { tMs, valueC } of readings) {
      const beyondK = side === 'short' ? minC - valueC : valueC - maxC;
      if (beyondK <= 0) continue;
      atMs ??= tMs;
      by = Math.max(by, beyondK);
    }
    return atMs === null ? [] : [{ phase, side, by, unit: 'K', atMs }];
  });
}

/** A face that the cold charge drew down, and that was not back in time. */
function lateRecovery(
  history: PointHistory,
  loadedMs: number,
  withinMin: number,
  endMs: number,
  holdLeastC: number | null,
): Breach[] {
  const before = readingsIn(history, loadedMs - BEFORE_MS, loadedMs).at(-1);
  const targetC = holdLeastC ?? (before === undefined ? null : before.valueC - BACK_WITHIN_K);
  const after = readingsIn(history, loadedMs, endMs);
  if (targetC === null || after.length === 0) return [];
  const dipped = after.findIndex(({ valueC }) => valueC < targetC);
  if (dipped < 0) return [];
  const back = after.slice(dipped).find(({ valueC }) => valueC >= targetC);
  const backMs = back?.tMs ?? after[after.length - 1].tMs;
  const by = (backMs - loadedMs) / 60_000 - withinMin;
  const atMs = loadedMs + withinMin * 60_000;
  return by > 0 ? [{ phase: 'recovery', side: 'long', by, unit: 'min', atMs }] : [];
}
