import type { Entry } from '@setwell/shared-models/record/entry';
import { rowMs } from '../live.ts';
import { say, sayAny, type Values } from '../language.ts';
import { clockFrom } from '../phrase.ts';

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
function valuesOf({ body, about }: Entry): Values {
  const plain: Values = {
    load: about.load ?? '',
    call: about.call ?? '',
    point: about.sensor ?? '',
  };
  for (const [name, value] of Object.entries(body as Record<string, unknown>)) {
    if (typeof value === 'string') plain[name] = value.slice(0, 200);
    if (typeof value === 'number') plain[name] = value;
  }
  const { verdict, kind, decision } = plain;
  plain['verdict'] = sayAny(`verdict.${String(verdict)}`, String(verdict ?? ''));
  plain['kind'] = String(kind ?? '').replaceAll('-', ' ');
  plain['decision'] = sayAny(`decide.${String(decision)}`, String(decision ?? ''));
  plain['reason'] ??= '';
  const { recipe } = body as { recipe?: { id?: string; revision?: number } | null };
  plain['recipe'] = recipe ? `${recipe.id ?? ''} ${String(recipe.revision ?? '')}` : '';
  return plain;
}
