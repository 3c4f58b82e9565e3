import type { Verdict } from '../score/shape.ts';
import type { Decision, Disposition, LoadAmended } from './bodies.ts';
import type { Entry } from './entry.ts';

/** One decision as it was taken. */
export interface Decided extends Disposition {
  by: string;
  atMs: number;
  n: number;
}

/** What people and rules have decided over a load so far: a fold of its dispositions and accounts. */
export interface LoadDecisions {
  /** Nobody may use the parts. */
  hold: Decided | null;
  /** The newest decision that counts, a hold and an extension aside. */
  last: Decided | null;
  /** A first person's, until a second has said the same. */
  waiting: Decided | null;
  /** Kept closed until then. */
  promise: { untilMs: number; by: string; atMs: number } | null;
  /** Released, and a later account is worse. */
  questioned: boolean;
}

export const undecided: LoadDecisions = {
  hold: null,
  last: null,
  waiting: null,
  promise: null,
  questioned: false,
};

/** Whether somebody has to say yet what happens to a load: it is held, in question, or out and not in its window. */
export function waitsForDecision(load: {
  state: 'open' | 'ended' | 'sealed';
  verdict: Verdict;
  decisions: LoadDecisions;
}): boolean {
  const { state, verdict, decisions } = load;
  if (state === 'open') return false;
  if (decisions.hold !== null || decisions.questioned) return true;
  return verdict !== 'in-window' && decisions.last === null;
}

/** After these the parts are free, or gone. */
const endsHold: readonly Decision[] = ['release', 'concession', 'scrap'];

/** @param before verdict of the account that counted before the entry; null where there was none */
export function nextDecisions(
  decisions: LoadDecisions,
  entry: Entry,
  before: Verdict | null,
): LoadDecisions {
  if (entry.kind === 'load-amended') {
    const { verdict } = entry.body as LoadAmended;
    const { last } = decisions;
    const released = last?.decision === 'release' || last?.decision === 'concession';
    const worse = before !== null && isWorse(verdict, before);
    return released && worse ? { ...decisions, questioned: true } : decisions;
  }
  if (entry.kind !== 'disposition') return decisions;
  const decided = decidedOf(entry as Entry<Partial<Disposition> & { decision: Decision }>);
  if (decided.needsSecond && decided.seconds === null) return { ...decisions, waiting: decided };
  switch (decided.decision) {
    case 'hold':
      return { ...decisions, hold: decided, waiting: null };
    case 'extend': {
      const { untilMs, by, atMs } = decided;
      return { ...decisions, promise: untilMs === null ? null : { untilMs, by, atMs } };
    }
    default: {
      const hold = endsHold.includes(decided.decision) ? null : decisions.hold;
      return { ...decisions, hold, last: decided, waiting: null, questioned: false };
    }
  }
}

/** Entries of the first days say less: what they leave out was not asked then. */
function decidedOf({ by, at, n, body }: Entry<Partial<Disposition> & { decision: Decision }>) {
  const asked: Omit<Disposition, 'decision'> = {
    reason: '',
    onRevision: null,
    parts: [],
    untilMs: null,
    rule: null,
    needsSecond: false,
    seconds: null,
  };
  return { ...asked, ...body, by, atMs: at, n };
}

const rank: Record<Verdict, number> = { 'in-window': 0, unproven: 1, over: 2, under: 2 };

/** Whether a verdict is less than another: proven before unproven before known to be wrong. */
export function isWorse(verdict: Verdict, than: Verdict): boolean {
  return rank[verdict] > rank[than];
}

/** Whether somebody has decided: a rule's hold, more time, and what waits for a second person do not. */
export function settlesLoad({
  decision,
  rule = null,
  needsSecond = false,
  seconds = null,
}: Partial<Disposition>): boolean {
  return decision !== 'extend' && rule === null && !(needsSecond && seconds === null);
}
