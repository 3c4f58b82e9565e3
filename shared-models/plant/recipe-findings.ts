import { createLaw } from '../cure/create-law.ts';
import type { LawSpec } from '../cure/law-spec.ts';
import { referenceLint } from '../cure/reference-lint.ts';
import { celsiusOfFahrenheit } from '../units/temperature.ts';
import type { Path } from './located-yaml.ts';
import { tellLaw } from './read-law.ts';
import { tellLayers, tellRecipeLayup, tellStart } from './read-layup.ts';
import type { Part, Recipe, WindowBounds } from './recipe-schema.ts';
import { tellRequirements } from './requirement-findings.ts';
import { type Tell, tellTwiceIn } from './tell.ts';

/** Glue and coats that stand more are rare: above it a temperature was probably meant in °F [°C]. */
const hardlyCelsiusC = 260;
/** Where a law without `validC` is looked at for a rate that falls [°C]. */
const usualC = [0, 250] as const;

/** What the shape alone cannot see of a recipe. */
export function tellRecipe(recipe: Recipe, tell: Tell): void {
  const { law, limits = [], requirements } = recipe;
  tellLaw(law, ['law'], tell);
  tellRecipeLaw(recipe, tell);
  tellReference(recipe, tell);
  tellErrorsAlone(law, tell);
  tellWindows(recipe, tell);
  limits.forEach((limit, index) => {
    if (limit.phase === 'recovery' || limit.minC < limit.maxC) return;
    tell(['limits', index], {
      code: 'contradiction',
      found: `${limit.minC} to ${limit.maxC}`,
      expected: 'a least below the greatest',
    });
  });
  tellRequirements(requirements, tell);
  tellPiece(recipe, tell);
  tellFahrenheit(recipe, tell);
}

function tellPart(part: Part, path: Path, tell: Tell): void {
  tellStart(part.initialC, [...path, 'initialC'], tell);
  if ('layers' in part) tellLayers(part.layers, [...path, 'layers'], tell);
}

function tellParts(recipe: Extract<Recipe, { kind: 'oven' }>, tell: Tell): void {
  const { part, places } = recipe;
  if ((part === undefined) === (places === undefined)) {
    tell([], {
      code: part === undefined ? 'missing-key' : 'contradiction',
      found: part === undefined ? 'neither part nor places' : 'part and places',
      expected: 'part, or places with a part each',
    });
  }
  if (places === undefined) return;
  tellTwiceIn(places, ['places'], tell);
  places.forEach((place, index) => tellPart(place.part, ['places', index, 'part'], tell));
}

function tellPiece(recipe: Recipe, tell: Tell): void {
  if (recipe.kind === 'oven') tellParts(recipe, tell);
  if (recipe.kind !== 'press') {
    if (recipe.part !== undefined) tellPart(recipe.part, ['part'], tell);
    return;
  }
  const { layup, places } = recipe;
  if ((layup === undefined) === (places === undefined)) {
    tell([], {
      code: layup === undefined ? 'missing-key' : 'contradiction',
      found: layup === undefined ? 'neither layup nor places' : 'layup and places',
      expected: 'layup, or places with a layup each',
    });
  }
  if (layup !== undefined) tellRecipeLayup(layup, ['layup'], tell);
  if (places === undefined) return;
  tellTwiceIn(places, ['places'], tell);
  const taken = new Map<string, string>();
  places.forEach((place, index) => {
    tellRecipeLayup(place.layup, ['places', index, 'layup'], tell);
    place.zones.forEach((zone, nth) => {
      const before = taken.get(zone);
      if (before !== undefined) {
        tell(['places', index, 'zones', nth], {
          code: 'id-twice',
          found: `${JSON.stringify(zone)}, which is in place ${before} too`,
          expected: 'each zone in one place',
        });
      }
      taken.set(zone, place.id);
    });
  });
}

function tellRecipeLaw({ law, kind }: Recipe, tell: Tell): void {
  if (law.source === undefined) {
    tell(['law', 'source'], {
      code: 'no-source',
      found: 'nothing',
      expected: 'the data sheet, scan, trial or publication the numbers come from',
    });
  }
  const dose = 'form' in law && law.form === 'dose';
  if (dose && kind !== 'bench') {
    tell(['law', 'form'], {
      code: 'contradiction',
      found: `dose at a ${kind}`,
      expected: 'a law of temperature; dose is for a bench with a lamp',
    });
  }
  if (kind === 'store' && !('form' in law && law.form === 'equivalent-time')) {
    tell(['law'], {
      code: 'contradiction',
      found: 'form' in law ? law.form : 'switch',
      expected: 'equivalent-time: a rest is told in equivalent days',
    });
  }
  const [fromC, toC] = law.validC ?? [law.floorC ?? usualC[0], law.ceilingC ?? usualC[1]];
  if (!dose && fromC < toC && rateFalls(law, fromC, toC)) {
    tell(['law'], {
      code: 'falling-rate',
      found: `a rate that falls somewhere between ${fromC} and ${toC} °C`,
      expected: 'a rate that rises with temperature: only then colder is the safe side',
    });
  }
}

/** Pre-exponential factor and energy of one fit, as if each erred for itself. */
function tellErrorsAlone({ standardErrors = {}, covariance }: LawSpec, tell: Tell): void {
  const alone = Object.keys(standardErrors).filter((name) => !covariance?.names.includes(name));
  for (const name of alone) {
    if (!/(^|\.)aPerS$/.test(name)) continue;
    const energy = name.replace(/aPerS$/, 'activationEnergyJPerMol');
    if (!alone.includes(energy)) continue;
    tell(['law', 'standardErrors', name], {
      code: 'no-covariance',
      severity: 'warning',
      found: `${name} and ${energy} with standard errors alone`,
      expected:
        'their covariance too: fitted together they nearly take each other out, alone they make the interval far too wide',
    });
  }
}

/** A reference outside the process: what that costs of the window's least. */
function tellReference(recipe: Recipe, tell: Tell): void {
  const { law, limits = [] } = recipe;
  const hold = limits.find((limit) => limit.phase === 'hold');
  const processC: readonly [number, number] | undefined = hold
    ? [Number(hold.minC), Number(hold.maxC)]
    : law.validC;
  if (processC === undefined || !(processC[0] <= processC[1])) return;
  const lint = referenceLint(law, processC, leastMinutes(recipe));
  if (lint === null) return;
  const { referenceC, doubtIs, costMin, measureMin } = lint;
  const which = 'form' in law && law.form === 'z-value' ? 'z' : 'the activation energy';
  const doubt = doubtIs === 'stated' ? 'the stated doubt (k = 2)' : 'a usual doubt of 5 %';
  tell(['law', 'referenceC'], {
    code: 'reference-outside',
    severity: 'warning',
    found: `${referenceC} °C`,
    expected: `a reference within ${hold ? 'the hold' : 'validC'}, ${processC[0]} to ${processC[1]} °C: from there ${doubt} of ${which} costs up to ${Number(costMin.toPrecision(2))} min of ${Number(measureMin.toPrecision(3))} min`,
  });
}

/** The least that the window asks for [min]. */
function leastMinutes(recipe: Recipe): number {
  switch (recipe.kind) {
    case 'store':
      return recipe.window.rest.equivalentLeastD * 1440;
    case 'oven':
      return recipe.window.step.least;
    default:
      return recipe.window.least;
  }
}

/** A law that contradicts itself has been told of already. */
function rateFalls(law: LawSpec, fromC: number, toC: number): boolean {
  try {
    return !createLaw(law).risesWithTemperature(fromC, toC);
  } catch (error) {
    if (error instanceof RangeError) return false;
    throw error;
  }
}

function tellWindows(recipe: Recipe, tell: Tell): void {
  const { law } = recipe;
  const kinetic = 'switch' in law || law.form === 'n-th-order' || law.form === 'autocatalytic';
  const tellBounds = (bounds: WindowBounds, path: Path, wholeCoat: boolean) => {
    tellWindow(bounds, path, tell);
    if (!wholeCoat && bounds.least <= 0) {
      tell([...path, 'least'], { code: 'out-of-range', found: '0', expected: 'more than 0' });
    }
    if (kinetic && bounds.least > 1) {
      tell([...path, 'least'], {
        code: 'wrong-unit',
        found: `${bounds.least}`,
        expected: 'a degree of cure, 0 to 1',
      });
    }
  };
  switch (recipe.kind) {
    case 'press':
    case 'rack':
    case 'bench':
      tellBounds(recipe.window, ['window'], false);
      return;
    case 'oven':
      tellBounds(recipe.window.step, ['window', 'step'], false);
      if (recipe.window.total) tellBounds(recipe.window.total, ['window', 'total'], true);
      for (const key of ['flashOffMin', 'recoatH'] as const) {
        const between = recipe[key];
        if (between !== undefined && between.least >= between.most) {
          tell([key], contradiction(between.least, between.most));
        }
      }
      return;
    case 'store':
      tellSource(recipe.window.rest.source, ['window', 'rest'], tell);
  }
}

function tellWindow(bounds: WindowBounds, path: Path, tell: Tell): void {
  const { least, most, mostNone, noReturn, source } = bounds;
  if (most === undefined && mostNone === undefined) {
    tell([...path, 'most'], {
      code: 'missing-key',
      found: 'no most',
      expected: 'most: a number, or most: none with mostNone: why there is none',
    });
  }
  if (most !== undefined && mostNone !== undefined) {
    tell([...path, 'mostNone'], {
      code: 'contradiction',
      found: `most ${most} and mostNone`,
      expected: 'one of them',
    });
  }
  if (most !== undefined && least >= most) {
    tell([...path, 'most'], contradiction(least, most));
  }
  if (noReturn !== undefined && noReturn >= least) {
    tell([...path, 'noReturn'], {
      code: 'contradiction',
      found: `${noReturn}`,
      expected: `less than least ${least}: beyond it an opened line is not pressed again`,
    });
  }
  tellSource(source, path, tell);
}

function contradiction(least: number, most: number) {
  return {
    code: 'contradiction',
    found: `least ${least} and most ${most}`,
    expected: 'a least below the most',
  };
}

function tellSource(source: string | undefined, path: Path, tell: Tell): void {
  if (source !== undefined) return;
  tell([...path, 'source'], {
    code: 'no-source',
    found: 'nothing',
    expected: 'the data sheet or trials the window rests on',
  });
}

function tellFahrenheit({ law, limits = [] }: Recipe, tell: Tell): void {
  const suspect = (tempC: number | undefined, path: Path) => {
    if (tempC === undefined || tempC <= hardlyCelsiusC) return;
    tell(path, {
      code: 'fahrenheit',
      severity: 'warning',
      found: `${tempC}`,
      expected: `°C: is it ${Math.floor(celsiusOfFahrenheit(tempC) + 0.5)} °C, written in °F?`,
    });
  };
  if ('form' in law && 'referenceC' in law) suspect(law.referenceC, ['law', 'referenceC']);
  suspect(law.validC?.[1], ['law', 'validC', 1]);
  limits.forEach((limit, index) => {
    if (limit.phase !== 'recovery') suspect(limit.maxC, ['limits', index, 'maxC']);
  });
}
