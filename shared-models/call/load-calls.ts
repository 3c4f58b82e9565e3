import type { CallKind, CallRaised } from '../record/bodies.ts';
import type { About } from '../record/entry.ts';
import type { Forecast, LoadState, RequirementResult, Side, Verdict } from '../score/shape.ts';
import type { Wish } from './wish.ts';

/** What is known of a load when it is asked who must do something. */
export interface LoadFacts {
  load: string;
  lot: string;
  station: string;
  state: LoadState | 'sealed';
  nowMs: number;
  startMs: number;
  plannedEndMs: number | null;
  verdict: Verdict;
  side: Side | null;
  worst: { zone: string; glueLine: number | null; margin: number } | null;
  unit: string | null;
  forecast: Forecast | null;
  /** Whether a recipe was named at all. */
  hasRecipe: boolean;
  faulted: boolean;
  requirements: readonly RequirementResult[];
  /** Kinds that are up already: they go down only well clear of what raised them. */
  up: ReadonlySet<CallKind>;
}

/** Kinds that follow from a load's verdict, forecast and requirements alone. */
const loadKinds = [
  'short-at-plan',
  'waiting-will-not-help',
  'nearing-most',
  'ended-short',
  'ended-unproven',
  'ended-over',
  'load-faulted',
  'which-lot',
  'precure',
] as const satisfies readonly CallKind[];

/** Minutes before the most at which somebody is called. */
const nearingMostMin = 10;
/** A plan that ends so long before the most takes the load out in time [ms]. */
const planMarginMs = 5 * 60_000;

/** Share of the plan before which the platens still stand in the dip of the charge, and nothing is foretold. */
const settledShare = 0.1;
/** A store's last night says little of the next fortnight: nobody is called so long before [ms]. */
const foretoldMs = 24 * 3_600_000;
/** How far past the plan a forecast must lie before somebody is called; at the plan they are let go [ms]. */
const pastPlanMs = 60_000;

/** Each of those kinds, wanted or not: what is up and not wanted any more is let go. */
export function wishesOfLoad(facts: LoadFacts, about: About): Wish[] {
  const { load, station, startMs, plannedEndMs } = facts;
  const plannedMs = plannedEndMs === null ? null : plannedEndMs - startMs;
  const wanted = callsOfLoad(facts);
  return loadKinds.map((kind): Wish => {
    const found = wanted.find((call) => call.kind === kind);
    const nothing = { station, load, point: null, tooLateMs: null, values: {} };
    const raised = found ?? nothing;
    return { kind, subject: load, plannedMs, about, present: found !== undefined, raised };
  });
}

/**
 * The calls a load asks for now. A call that is up and not in the list any more is cleared.
 *
 * - `short-at-plan`: the plan ends more than a minute before even the early end of the forecast
 * - `nearing-most`: proven, less than 10 min to the most (or past it), and no plan that ends 5 min before it
 * - `waiting-will-not-help`: low cannot reach the least before high passes the most
 * - `ended-short`, `ended-over`: at once when the load ends, for no later reading can heal them
 * - `precure`: heat before pressure has passed its own most
 * - `ended-unproven`: only when sealed, for the last readings may still settle it
 */
function callsOfLoad(facts: LoadFacts): CallRaised[] {
  return [...callsOfVerdict(facts), ...callsOfRequirements(facts)];
}

/** Heat before pressure that was too much: nothing heals it, and it is known while the load is in. */
function callsOfRequirements(facts: LoadFacts): CallRaised[] {
  const precure = facts.requirements.find(({ kind }) => kind === 'precure');
  if (precure?.verdict !== 'over') return [];
  return [call(facts, 'precure', 'shift-lead', null, { evidence: precure.evidence })];
}

function callsOfVerdict(facts: LoadFacts): CallRaised[] {
  if (facts.faulted) return [call(facts, 'load-faulted', 'engineer', null, {})];
  if (!facts.hasRecipe) return [call(facts, 'which-lot', 'shift-lead', null, {})];
  return facts.state === 'open' ? callsWhileOpen(facts) : callsAfterwards(facts);
}

function callsWhileOpen(facts: LoadFacts): CallRaised[] {
  const { forecast, nowMs, plannedEndMs, verdict } = facts;
  const calls: CallRaised[] = [];
  if (!forecast) return calls;
  const short = verdict === 'under' || (verdict === 'unproven' && facts.side === 'short');
  const may = mayForetell(facts);
  if (short && may && !forecast.waitingHelps) {
    calls.push(call(facts, 'waiting-will-not-help', 'engineer', null, worstOf(facts)));
  } else if (short && may && plannedEndMs !== null) {
    const early = forecast.provenEarliestMs ?? forecast.provenAtMs;
    const beyondMs = facts.up.has('short-at-plan') ? 0 : pastPlanMs;
    if (early !== null && early > plannedEndMs + beyondMs) {
      const untilMs = forecast.provenAtMs ?? early;
      calls.push(
        call(facts, 'short-at-plan', 'shift-lead', plannedEndMs, {
          ...worstOf(facts),
          ...longerFor(untilMs, plannedEndMs),
          plannedEndMs,
        }),
      );
    }
  }
  const past = verdict === 'over' || (verdict === 'unproven' && facts.side === 'long');
  const { overAtMs } = forecast;
  const near = overAtMs !== null && overAtMs - nowMs < nearingMostMin * 60_000;
  const planned =
    plannedEndMs !== null && nowMs < plannedEndMs && (overAtMs ?? 0) >= plannedEndMs + planMarginMs;
  if (past || (verdict === 'in-window' && near && !planned)) {
    calls.push(call(facts, 'nearing-most', 'shift-lead', overAtMs, { overAtMs }));
  }
  return calls;
}

/** How long past its plan a load stays in, and until when: whole minutes, rounded up. */
export function longerFor(untilMs: number, plannedEndMs: number) {
  return {
    longerMin: Math.max(1, Math.ceil((untilMs - plannedEndMs) / 60_000)),
    untilMs: Math.ceil(untilMs / 60_000) * 60_000,
  };
}

function mayForetell({ startMs, plannedEndMs, nowMs }: LoadFacts): boolean {
  if (plannedEndMs === null) return true;
  const settledMs = startMs + settledShare * (plannedEndMs - startMs);
  return nowMs >= Math.max(settledMs, plannedEndMs - foretoldMs);
}

function callsAfterwards(facts: LoadFacts): CallRaised[] {
  switch (facts.verdict) {
    case 'in-window':
      return [];
    case 'under':
      return [call(facts, 'ended-short', 'shift-lead', null, worstOf(facts))];
    case 'over':
      return [call(facts, 'ended-over', 'engineer', null, worstOf(facts))];
    case 'unproven':
      return facts.state === 'sealed'
        ? [call(facts, 'ended-unproven', 'engineer', null, worstOf(facts))]
        : [];
  }
}

function worstOf(facts: LoadFacts): CallRaised['values'] {
  const { worst, unit } = facts;
  if (!worst) return {};
  const { zone, glueLine, margin } = worst;
  return { zone, glueLine, shortBy: margin < 0 ? -margin : 0, unit };
}

function call(
  facts: LoadFacts,
  kind: CallKind,
  who: CallRaised['who'],
  tooLateMs: number | null,
  values: CallRaised['values'],
): CallRaised {
  const { station, load, lot } = facts;
  return { kind, station, load, point: null, who, tooLateMs, values: { lot, ...values } };
}
