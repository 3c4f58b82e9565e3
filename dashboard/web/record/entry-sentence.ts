import type { Entry } from '@setwell/shared-models/record/entry';
import { verdictToken } from '@setwell/shared-models/api/floor';
import type { AdviceChanged, Disposition } from '@setwell/shared-models/record/bodies';
import type { CallRaised } from '@setwell/shared-models/record/call-bodies';
import { rowMs } from '../live.ts';
import { say, sayAny, type Values } from '../language.ts';
import { callText, clockFrom } from '../phrase.ts';

/**
 * An entry in plain words: when, by whom, what. Everything that its sentence may name stands in the entry
 * itself; a kind without a sentence is named by its own word.
 */
export function entrySentence(entry: Entry): string {
  const { kind, n, at, by, about } = entry;
  const who =
    by === 'collector' ? say('trail.collector') : by === 'plant' ? say('trail.plant') : by;
  const said = sayAny(`trail.${kind}`, kind, valuesOf(entry));
  const what = about.load ?? about.lots?.join(', ') ?? about.station ?? about.recipe ?? '';
  const of = what === '' || said.includes(what) ? '' : ` · ${what}`;
  return say('trail.line', { n, when: clockFrom(at, rowMs.value), who, said, of });
}

/** What sentences name: the body's plain values, verdicts and decisions in the reader's words. */
function valuesOf(entry: Entry): Values {
  const { body, about } = entry;
  const plain: Values = {
    load: about.load ?? '',
    call: about.call ?? '',
    point: about.sensor ?? '',
  };
  for (const [name, value] of Object.entries(body as Record<string, unknown>)) {
    if (typeof value === 'string') plain[name] = value.slice(0, 200);
    if (typeof value === 'number') plain[name] = value;
  }
  const verdict = String(verdictOf(entry) ?? '');
  plain['verdict'] = sayAny(`verdict.${verdict}`, verdict);
  const { decision } = plain;
  plain['decision'] = sayAny(`decide.${String(decision)}`, String(decision ?? ''));
  plain['reason'] ??= '';
  if (entry.kind === 'disposition') {
    const { rule, reason } = body as Disposition;
    plain['reason'] = rule ? say(`trail.byRule.${rule}`) : reason;
  }
  if (entry.kind === 'call-raised') {
    const raised = body as CallRaised;
    plain['call'] = callText({ ...raised, raisedMs: entry.at }, '.short');
  }
  const { recipe } = body as { recipe?: { id?: string; revision?: number } | null };
  plain['recipe'] = recipe ? `${recipe.id ?? ''} ${String(recipe.revision ?? '')}` : '';
  return plain;
}

/** What was said of a load that is still in is the screens' word for it: it is not short yet. */
function verdictOf({ kind, body }: Entry): unknown {
  if (kind !== 'advice-changed') return (body as { verdict?: unknown }).verdict;
  const { verdict, side } = body as AdviceChanged;
  return verdictToken({ state: 'open', verdict, side });
}
