import type { Recipe, Requirement } from '@setwell/shared-models/plant/recipe-schema';
import { degrees, shownDegrees } from '../degrees.ts';
import { say, sayAny } from '../language.ts';
import { saidAmount, saidRange } from '../load/amount.ts';
import { bound, duration, saidNumber, saidTemperature } from '../phrase.ts';

/** What a figure of a requirement is called beside its kind, its keys in the file, and its unit. */
interface Figure {
  what?: string;
  least?: string;
  most?: string;
  unit: string;
}

/** In the order in which they are asked; a key means the same in each kind that has it. */
const figures: Figure[] = [
  { what: 'precure', most: 'most', unit: '' },
  { what: 'contact to pressure', most: 'contactToPressureMaxS', unit: 's' },
  { least: 'minNPerMm2', most: 'maxNPerMm2', unit: 'N/mm²' },
  { what: 'open', least: 'openMinMin', most: 'openMaxMin', unit: 'min' },
  { what: 'closed', least: 'closedMinMin', most: 'closedMaxMin', unit: 'min' },
  { least: 'minC', most: 'maxC', unit: '°C' },
  { least: 'minPct', most: 'maxPct', unit: '%' },
  { what: 'age', most: 'maxMin', unit: 'min' },
  { what: 'age', most: 'maxD', unit: 'd' },
  { what: 'stored', most: 'storedMaxC', unit: '°C' },
  { what: 'steps', least: 'minSteps', unit: '1' },
  { what: 'time', least: 'minS', most: 'maxS', unit: 's' },
  { most: 'maxK', unit: 'K' },
  { what: 'piece', most: 'pieceMaxC', unit: '°C' },
  { what: 'spread', least: 'minGPerM2', most: 'maxGPerM2', unit: 'g/m²' },
  { what: 'thickness', least: 'minUm', most: 'maxUm', unit: 'µm' },
  { what: 'humidity', least: 'minRhPct', most: 'maxRhPct', unit: '%' },
  { what: 'time', least: 'minMin', unit: 'min' },
  { what: 'calendar', least: 'minD', unit: 'd' },
];

function boundsOf(least: unknown, most: unknown, unit: string): string | null {
  const [low, high] = [least, most].map((value) => (typeof value === 'number' ? value : null));
  if (low != null && high != null) return saidRange(low, high, unit);
  if (low != null) return say('recipe.atLeast', { bound: saidAmount(low, unit) });
  return high == null ? null : say('recipe.atMost', { bound: saidAmount(high, unit) });
}

function figureTexts(requirement: Requirement, unit: string): string[] {
  const values = requirement as unknown as Record<string, unknown>;
  return figures.flatMap(({ what, least = '', most = '', unit: own }) => {
    const bounds = boundsOf(values[least], values[most], own === '' ? unit : own);
    if (bounds === null) return [];
    return [what === undefined ? bounds : `${sayAny(`check.${what}`, what)} ${bounds}`];
  });
}

/** What stands elsewhere than in a least and a most. */
function ownTexts(requirement: Requirement, recipe: Recipe): string[] {
  switch (requirement.kind) {
    case 'mix-ratio': {
      const { partsPer100, tolerance } = requirement;
      const values = { parts: bound(partsPer100), tolerance: bound(tolerance) };
      return [say('recipe.asked.ratio', values)];
    }
    case 'mix-age': {
      const { referenceC } = requirement;
      const at = { temperature: saidTemperature(referenceC ?? 0) };
      return referenceC === undefined ? [] : [say('recipe.asked.ages', at)];
    }
    case 'pressure': {
      const { pressedAreaCm2 } = requirement;
      return pressedAreaCm2 === undefined
        ? []
        : [say('recipe.asked.area', { area: bound(pressedAreaCm2) })];
    }
    case 'air':
      return requirement.moving === true ? [say('recipe.asked.moving')] : [];
    case 'test': {
      const { method, min, max, unit = '' } = requirement;
      return [`${method} ${boundsOf(min, max, unit) ?? ''}`.trim()];
    }
    case 'flash-off':
    case 'recoat': {
      if (recipe.kind !== 'oven') return [];
      const isFlash = requirement.kind === 'flash-off';
      const times = isFlash ? recipe.flashOffMin : recipe.recoatH;
      const text = boundsOf(times?.least, times?.most, isFlash ? 'min' : 'h');
      return text === null ? [] : [text];
    }
    default:
      return [];
  }
}

function askedTexts(requirement: Requirement, recipe: Recipe, unit: string): string[] {
  const asked = [...figureTexts(requirement, unit), ...ownTexts(requirement, recipe)];
  const at =
    'point' in requirement && requirement.point !== undefined
      ? [say('recipe.asked.point', { point: requirement.point })]
      : [];
  return asked.length === 0 ? [say('recipe.asked.nothing'), ...at] : [...asked, ...at];
}

function heardText({ coveredBy }: Requirement): string {
  return typeof coveredBy === 'string'
    ? say(`recipe.heard.${coveredBy}`)
    : say('recipe.heard.procedure', { procedure: coveredBy.notMonitored });
}

function breachText({ severity }: Requirement): string {
  const [short, long] = [severity?.short ?? 'verdict', severity?.long ?? 'verdict'] as const;
  return short === long
    ? say(`recipe.breach.${short}`)
    : say('recipe.breach.sides', {
        short: say(`recipe.breach.${short}`),
        long: say(`recipe.breach.${long}`),
      });
}

function RequirementRow({
  requirement,
  recipe,
  unit,
}: {
  requirement: Requirement;
  recipe: Recipe;
  unit: string;
}) {
  const { kind, source } = requirement;
  return (
    <tr>
      <td>
        <b>{sayAny(`kind.${kind}`, kind)}</b>
      </td>
      <td data-col={say('recipe.requirements.col.asked')}>
        {askedTexts(requirement, recipe, unit).join(', ')}
      </td>
      <td data-col={say('recipe.requirements.col.heard')}>{heardText(requirement)}</td>
      <td data-col={say('recipe.requirements.col.breach')}>{breachText(requirement)}</td>
      <td data-col={say('recipe.requirements.col.source')}>{source ?? say('recipe.noSource')}</td>
    </tr>
  );
}

/** @param unit of the measure, for what is asked of the cure itself */
export function RequirementsPart({ recipe, unit }: { recipe: Recipe; unit: string }) {
  const { requirements } = recipe;
  return (
    <section class="section">
      <h2>{say('recipe.requirements')}</h2>
      {requirements.length === 0 ? (
        <p>{say('recipe.requirements.none')}</p>
      ) : (
        <>
          <p class="soft">{say('recipe.requirements.what')}</p>
          <table class="stacking">
            <thead>
              <tr>
                {(['kind', 'asked', 'heard', 'breach', 'source'] as const).map((col) => (
                  <th key={col}>{say(`recipe.requirements.col.${col}`)}</th>
                ))}
              </tr>
            </thead>
            <tbody>
              {requirements.map((requirement, i) => (
                <RequirementRow key={i} requirement={requirement} recipe={recipe} unit={unit} />
              ))}
            </tbody>
          </table>
        </>
      )}
    </section>
  );
}

/** What plates and air shall do before and while a load is in. */
export function LimitsPart({ limits }: { limits: Recipe['limits'] }) {
  if (limits === undefined || limits.length === 0) return null;
  return (
    <section class="section">
      <h2>{say('recipe.limits')}</h2>
      <p class="soft">{say('recipe.limits.what')}</p>
      <dl class="facts">
        {limits.map((limit, i) => (
          <div key={i}>
            <dt>{say(`recipe.limits.${limit.phase}`)}</dt>
            <dd>
              {limit.phase === 'recovery'
                ? say('recipe.limits.within', { time: duration(limit.withinMin, true) })
                : `${say('range.words', {
                    low: saidNumber(shownDegrees(limit.minC)),
                    high: saidNumber(shownDegrees(limit.maxC)),
                  })} ${degrees.value}`}
            </dd>
          </div>
        ))}
      </dl>
    </section>
  );
}
