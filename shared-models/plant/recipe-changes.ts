import type { Recipe } from './recipe-schema.ts';

/** One field that two revisions say differently; null where one of them does not say it. */
export interface RecipeChange {
  /** As in the file, with dots; of a list by the name of its member: `requirements.moisture.maxPct`. */
  field: string;
  before: string | null;
  after: string | null;
}

/** What a member of a list is known by, so that one more before it changes nothing of it. */
const names = ['id', 'method', 'kind', 'phase'] as const;

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
    const isPlain = Array.isArray(value) && value.every((each) => typeof each !== 'object');
    if (typeof value !== 'object' || value === null || isPlain) {
      fields.set(path, plainText(value));
      return;
    }
    const members: [string, unknown][] = Array.isArray(value)
      ? named(value)
      : Object.entries(value);
    for (const [key, each] of members) collect(each, path === '' ? key : `${path}.${key}`);
    if (members.length === 0) fields.set(path, '{}');
  };
  collect(recipe, '');
  return fields;
}

/** As people write it; a list whose members hold commas as the file has to quote them. */
function plainText(value: unknown): string {
  if (!Array.isArray(value)) return String(value);
  const texts = value.map(String);
  return texts.some((text) => text.includes(',')) ? JSON.stringify(texts) : texts.join(', ');
}

/** Members of a list, each by a name that no other has: the second `hold` is `hold-2`. */
function named(members: unknown[]): [name: string, member: unknown][] {
  const taken = new Set(members.map((member) => nameOf(member)));
  const known = new Set<string | null>();
  return members.map((member, i) => {
    const name = nameOf(member);
    let own = name ?? String(i + 1);
    for (let n = 2; known.has(own) || (own !== name && taken.has(own)); n++) {
      own = `${name ?? String(i + 1)}-${String(n)}`;
    }
    known.add(own);
    return [own, member];
  });
}

function nameOf(member: unknown): string | null {
  if (typeof member !== 'object' || member === null) return null;
  const values = member as Record<string, unknown>;
  const name = names.map((key) => values[key]).find((value) => typeof value === 'string');
  // A dot stands between a member and its fields.
  return name === undefined ? null : String(name).replaceAll('.', '_');
}
