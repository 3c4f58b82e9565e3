import type { LoadDetail } from '@setwell/shared-models/api/dashboard';
import {
  loadSlot,
  planEarlyMin,
  verdictToken,
  type FloorLoad,
} from '@setwell/shared-models/api/floor';
import { rowMs } from '../live.ts';
import { say, sayAny } from '../language.ts';
import {
  bound,
  clock,
  clockFrom,
  clockNear,
  clockS,
  clockUp,
  duration,
  measure,
  measureHigh,
  measureLow,
  placeText,
  slotText,
  unitText,
} from '../phrase.ts';

export function head(load: FloorLoad): string {
  return say('load.head', {
    station: load.station,
    load: load.load,
    lot: load.lot,
    recipe:
      load.recipe === null
        ? say('load.noRecipe')
        : say('load.revision', { recipe: load.recipe.id, revision: load.recipe.revision }),
  });
}

/** The verdict in one bold clause. */
export function verdictClause({ load, requirements }: LoadDetail, nowMs: number): string {
  const token = verdictToken(load);
  if (load.state === 'open') {
    if (load.recipe === null) return say('load.unjudged');
    const slot = slotText(loadSlot(load, nowMs), nowMs);
    switch (token) {
      case 'not-yet':
      case 'in-window':
      case 'over':
      case 'unproven':
        return say(`load.open.${token}`, { slot });
      case 'under':
        return say('load.open.not-yet', { slot });
    }
  }
  const { worst, window, endMs } = load;
  const ended = clockFrom(endMs ?? load.asOfMs, nowMs);
  if (worst === null || window === null) {
    return say('load.ended.plain', { clock: ended, verdict: say(`verdict.${token}`) });
  }
  // Its heat is in the window, and something else is not.
  if (load.verdict !== 'in-window' && worst.verdict === 'in-window') {
    const verdict = say(`verdict.${token}`);
    const because = requirements
      .filter((each) => each.verdict === load.verdict)
      .map(({ kind }) => sayAny(`kind.${kind}`, kind))
      .join(', ');
    return say('load.ended.beside', { clock: ended, verdict, because });
  }
  const { least, most } = window;
  const shortBy = (end: number): string => measure(Math.max(0, least - end), least);
  const by =
    load.verdict === 'under'
      ? say('range.words', { low: shortBy(worst.high), high: shortBy(worst.low) })
      : measure(Math.max(0, worst.low - (most ?? worst.low)), least);
  return say(`load.ended.${load.verdict}`, {
    clock: ended,
    low: measureLow(worst.low, least),
    high: measureHigh(worst.high, least),
    by,
    least: bound(least),
    window:
      most === null ? bound(least) : say('bar.range', { low: bound(least), high: bound(most) }),
    unit: unitText(load.unit),
    place: placeText(worst),
  });
}

/** What follows: when, why, what the plan does. */
export function moreClauses(load: FloorLoad, nowMs: number): string[] {
  if (load.state !== 'open') return [];
  const clauses: string[] = [];
  const { worst, window, forecast, plannedEndMs } = load;
  if (load.blindSinceMs !== null && worst !== null && window !== null) {
    clauses.push(
      say('load.blind', {
        clock: clock(load.blindSinceMs),
        points: load.silentPoints.join(', '),
        low: measureLow(worst.low, window.least),
        high: measureHigh(worst.high, window.least),
        unit: unitText(load.unit),
      }),
    );
  }
  if (load.provenSinceMs !== null) {
    clauses.push(say('load.provenSince', { clock: clockFrom(load.provenSinceMs, nowMs) }));
  }
  const early = planEarlyMin(load);
  if (early !== null && plannedEndMs !== null && worst !== null) {
    clauses.push(
      say('load.planEarly', {
        plan: clockNear(plannedEndMs, nowMs),
        time: duration(early, true),
        place: placeText(worst),
        verdict: say(`verdict.${forecast?.atPlan?.verdict ?? 'under'}`).toLowerCase(),
      }),
    );
  } else if (verdictToken(load) === 'not-yet' && forecast?.provenAtMs != null) {
    clauses.push(say('load.provenAt', { clock: clockUp(forecast.provenAtMs, nowMs) }));
  }
  if (forecast === null && load.recipe !== null && worst === null) {
    clauses.push(say('load.counting', { clock: clockS(load.startMs) }));
  }
  return clauses;
}

/** The Load screen's first words: whose load, what is said of it, and what that means. */
export function Sentence({ detail }: { detail: LoadDetail }) {
  const { load, revisions, fault } = detail;
  const nowMs = rowMs.value;
  const now = revisions[revisions.length - 1];
  const before = revisions[revisions.length - 2];
  return (
    <section class="sentence">
      <h1>{head(load)}</h1>
      <p>
        <b class="num">{verdictClause(detail, nowMs)}</b> {moreClauses(load, nowMs).join(' ')}
      </p>
      {fault !== null && <p>{say('load.fault', { because: fault })}</p>}
      {now !== undefined && before !== undefined && before.verdict !== now.verdict && (
        <p class="old">
          <s>{say(`verdict.${before.verdict}`)}</s>{' '}
          {say('load.corrected', {
            before: say(`verdict.${before.verdict}`),
            clock: clockFrom(now.atMs, nowMs),
            because: sayAny(`because.${now.because ?? 'late'}`, now.because ?? ''),
            n: now.n,
          })}
        </p>
      )}
    </section>
  );
}
