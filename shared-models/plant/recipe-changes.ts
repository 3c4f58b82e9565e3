import type { Recipe } from './recipe-schema.ts';

/** One field that two revisions say differently; null where one of them does not say it. */
export interface RecipeChange {
  /** As in the file, with dots; of a list by the name of its member: `requirements.moisture.maxPct`. */
  field: string;
  before: string | null;
  after: string | null;
}

/** What a member of a list is known by, so that one more before it changes nothing of it. */
const names = ['id', 'kind', 'phase', 'method'] as const;

/** What another revision of a recipe says differently, field by field, in the order of the file. */
export function recipeChanges(before: Recipe, after: Recipe): RecipeChange[] {
  const [was, is] = [fieldsOf(before), fieldsOf(after)];
  const fields = [...is.keys(), ...[...was.keys()].filter((field) => !is.has(field))];
  return fields.flatMap((field) => {
    const change = { field, before: was.get(field) ?? null, after: is.get(field) ?? null };
    return change.before === change.after ? [] : [change];
  });
}

function fieldsOf(recipe: Recipe): Map<string, string> {
  const fields = new Map<string, string>();
  const collect = (value: unknown, path: string): void => {
    if (value === undefined) return;
    if (typeof value !== 'object' || value === null) {
      fields.set(path, String(value));
      return;
    }
    const within = (key: string) => (path === '' ? key : `${path}.${key}`);
    if (!Array.isArray(value)) {
      for (const [key, each] of Object.entries(value)) collect(each, within(key));
    } else if (value.every((each) => typeof each !== 'object')) {
      fields.set(path, value.join(', '));
    } else {
      value.forEach((each: unknown, i) => collect(each, within(nameOf(each) ?? String(i + 1))));
    }
  };
  collect(recipe, '');
  return fields;
}

function nameOf(member: unknown): string | null {
  if (typeof member !== 'object' || member === null) return null;
  const values = member as Record<string, unknown>;
  const name = names.map((key) => values[key]).find((value) => typeof value === 'string');
  return name === undefined ? null : String(name);
}
