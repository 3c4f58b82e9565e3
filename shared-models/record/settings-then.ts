import type { RecipeApproved } from './bodies.ts';
import type { Entry } from './entry.ts';

/** Who could do what, and by which recipes, at one moment. */
export interface SettingsThen {
  /** People that were let in and not let out, by number. */
  rights: { person: string; jobs: string[]; halls: string[] | null; sinceN: number }[];
  /** The newest approved revision of each recipe, by name. */
  recipes: { id: string; revision: number; by: string; sinceN: number }[];
}

/** @param entries that set rights and recipes, in their order, up to that moment [ms] */
export function settingsThen(entries: readonly Entry[], atMs: number): SettingsThen {
  const rights = new Map<string, SettingsThen['rights'][number]>();
  const recipes = new Map<string, SettingsThen['recipes'][number]>();
  for (const { kind, n, by, body } of entries) {
    if (kind === 'person-granted') {
      const { person, jobs, halls, endsMs } = body as Granted;
      rights.set(person, { person, jobs, halls, sinceN: n });
      if (endsMs !== null && endsMs <= atMs) rights.delete(person);
    }
    if (kind === 'person-revoked') rights.delete((body as { person: string }).person);
    if (kind !== 'recipe-approved' && kind !== 'recipe-withdrawn') continue;
    const { id, revision } = (body as RecipeApproved).recipe;
    if (kind === 'recipe-approved') recipes.set(id, { id, revision, by, sinceN: n });
    else if (recipes.get(id)?.revision === revision) recipes.delete(id);
  }
  return {
    rights: [...rights.values()].sort((a, b) => (a.person < b.person ? -1 : 1)),
    recipes: [...recipes.values()].sort((a, b) => (a.id < b.id ? -1 : 1)),
  };
}

interface Granted {
  person: string;
  jobs: string[];
  halls: string[] | null;
  endsMs: number | null;
}
