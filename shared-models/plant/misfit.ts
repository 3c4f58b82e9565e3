import type { Station } from './plant.ts';
import type { Recipe } from './recipe-schema.ts';

/**
 * Why a recipe is none for a station, as found and expected; null: it is one.
 *
 * A dose adds up light [mW/cm²]. Where heat is judged by temperatures its law would take 80 °C for
 * 80 mW/cm², and call a cold joint proven.
 */
export function misfit(
  { id, kind, law }: Pick<Recipe, 'id' | 'kind' | 'law'>,
  station: Pick<Station, 'kind' | 'heating'>,
): { found: string; expected: string } | null {
  if (kind !== station.kind)
    return { found: `${id}, for a ${kind}`, expected: `a recipe for a ${station.kind}` };
  const isDose = 'form' in law && law.form === 'dose';
  return isDose && station.heating !== 'ultraviolet'
    ? {
        found: `${id}, a dose of light`,
        expected: 'a law of temperature; a dose is for a bench with heating: ultraviolet',
      }
    : null;
}
