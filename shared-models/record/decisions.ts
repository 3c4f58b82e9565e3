import type { Verdict } from '../score/shape.ts';
import type { Decision, Disposition, LoadAmended, LoadSealed } from './bodies.ts';
import type { Entry } from './entry.ts';

/** One decision as it was taken. */
export interface Decided extends Disposition {
  by: string;
  atMs: number;
  n: number;
}

/** What people and rules have decided over a load so far: a fold of its dispositions and accounts. */
export interface LoadDecisions {
  /** Nobody may use the parts; where it names some, those that are left of them. */
  hold: Decided | null;
  /** The newest decision that counts, a hold and an extension aside. */
  last: Decided | null;
  /** Parts that were let go, or are gone, while others of the load are not: by name, the last of them first. */
  gone: readonly string[];
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
  gone: [],
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
  return verdict !== 'in-window' && (decisions.last === null || decisions.gone.length > 0);
}

/** After these the parts are free, or gone. */
const endsHold: readonly Decision[] = ['release', 'concession', 'scrap'];

/**
 * @param before verdict of the account that counted before the entry; null where there was none
 * @param parts of the load; none: it names none, and is decided as a whole
 */
export function nextDecisions(
  decisions: LoadDecisions,
  entry: Entry,
  before: Verdict | null,
  parts: readonly string[],
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
    case 'hold': {
      const isHeld = isAbout(decided);
      const gone = decisions.gone.filter((part) => !isHeld(part));
      return { ...decisions, hold: decided, gone, waiting: null };
    }
    case 'extend': {
      const { untilMs, by, atMs } = decided;
      return { ...decisions, promise: untilMs === null ? null : { untilMs, by, atMs } };
    }
    default: {
      const after = { ...decisions, last: decided, waiting: null, questioned: false };
      return endsHold.includes(decided.decision) ? letGo(after, decided, parts) : after;
    }
  }
}

/**
 * What was decided of one part of a load, whatever was decided of others since.
 *
 * @param entries of the load, in order
 */
export function decisionsOfPart(entries: readonly Entry[], part: string): LoadDecisions {
  let decisions = undecided;
  let verdict: Verdict | null = null;
  for (const entry of entries) {
    const isOther =
      entry.kind === 'disposition' && !isAbout(decidedOf(entry as Entry<Disposition>))(part);
    if (!isOther) decisions = nextDecisions(decisions, entry, verdict, [part]);
    if (entry.kind === 'load-sealed' || entry.kind === 'load-amended') {
      verdict = (entry.body as LoadSealed).verdict;
    }
  }
  return decisions;
}

/** A hold stays on the parts that were not named. */
function letGo(decisions: LoadDecisions, decided: Decided, parts: readonly string[]) {
  const gone = [...new Set([...decided.parts, ...decisions.gone])];
  const isWhole = parts.length > 0 && parts.every((part) => gone.includes(part));
  if (decided.parts.length === 0 || isWhole) return { ...decisions, hold: null, gone: [] };
  const { hold } = decisions;
  const held = hold === null || hold.parts.length > 0 ? (hold?.parts ?? []) : parts;
  const left = held.filter((part) => !gone.includes(part));
  const isLeft = left.length > 0 || held.length === 0;
  return { ...decisions, gone, hold: hold && isLeft ? { ...hold, parts: left } : null };
}

function isAbout({ parts }: Decided): (part: string) => boolean {
  return (part) => parts.length === 0 || parts.includes(part);
}

/** Whether two decisions are about the same parts. */
export function isOfSameParts(a: readonly string[], b: readonly string[]): boolean {
  const of = (parts: readonly string[]) => [...new Set(parts)].sort();
  return JSON.stringify(of(a)) === JSON.stringify(of(b));
}

/** Entries of the first days say less: what they leave out was not asked then. */
export function decidedOf({
  by,
  at,
  n,
  body,
}: Entry<Partial<Disposition> & { decision: Decision }>) {
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

/**
 * Whether somebody has decided of all of a load: a rule's hold, more time, what waits for a second person and
 * what is about some of its parts do not.
 *
 * @param after what is decided with it; undefined where nobody knows the load
 */
export function settlesLoad(
  { decision, rule = null, needsSecond = false, seconds = null }: Partial<Disposition>,
  after: LoadDecisions | undefined,
): boolean {
  if (decision === 'extend' || rule !== null || (needsSecond && seconds === null)) return false;
  return decision === 'hold' || after === undefined || after.gone.length === 0;
}
