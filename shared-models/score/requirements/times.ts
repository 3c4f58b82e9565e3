import { equivalentTimeLaw } from '../../cure/equivalent-time.ts';
import type { Requirement } from '../../plant/requirement-schema.ts';
import type { CarriedCoat, Mark, RequirementCheck, ScoredEvent } from '../shape.ts';
import { held, isAsked, unheard, type Known, type Limits } from './check.ts';
import {
  between,
  endMark,
  eventsOf,
  firstOf,
  inUnitOf,
  lastOf,
  longest,
  type Evidence,
} from './evidence.ts';
import { releaseSteps } from './signals.ts';

const MS_PER_MIN = 60_000;
const MS_PER_H = 3_600_000;
const MS_PER_D = 86_400_000;

/** Open: from spreading to covering. Closed: from covering to pressure. The longest of each decides. */
export function assemblyChecks(
  asked: Extract<Requirement, { kind: 'assembly-time' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const { pressureOn } = evidence.input.marks;
  const spread = eventsOf(evidence, 'spread');
  const assembled = eventsOf(evidence, 'assembled');
  const firstSpread = firstOf(spread);
  const lastSpread = lastOf(spread);
  const firstCovered = firstOf(assembled);
  const lastCovered = lastOf(assembled);
  const open: Limits = limits(asked.openMinMin, asked.openMaxMin, 'min');
  const closed: Limits = limits(asked.closedMinMin, asked.closedMaxMin, 'min');
  const checks: RequirementCheck[] = [];
  if (isAsked(open)) {
    checks.push(
      firstSpread === null || lastSpread === null || firstCovered === null || lastCovered === null
        ? unheard('open', open)
        : held('open', open, spanOf(firstSpread, lastSpread, firstCovered, lastCovered)),
    );
  }
  if (isAsked(closed)) {
    checks.push(
      firstCovered === null || lastCovered === null
        ? unheard('closed', closed)
        : held('closed', closed, spanOf(firstCovered, lastCovered, pressureOn, pressureOn)),
    );
  }
  return checks;
}

/** Shortest and longest time from one of several things to another [min]. */
function spanOf(first: Mark, last: Mark, toFirst: Mark, toLast: Mark): Known {
  const shortest = toFirst.earliestMs - last.latestMs;
  return inUnitOf(
    {
      low: Math.max(0, Math.min(shortest, toLast.latestMs - first.earliestMs)),
      high: toLast.latestMs - first.earliestMs,
      atMs: toLast.latestMs,
    },
    MS_PER_MIN,
  );
}

/**
 * Age of each mix when it was last used. Pot life shortens with warmth: with an activation energy, age
 * is brought to the reference temperature by what the mix itself measured.
 */
export function mixAgeChecks(
  asked: Extract<Requirement, { kind: 'mix-age' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const most: Limits = { least: null, most: asked.maxMin, unit: 'min' };
  const mixes = eventsOf(evidence, 'mix');
  if (mixes.length === 0) return [unheard('mix-age', most)];
  const { activationEnergyJPerMol, referenceC } = asked;
  return mixes.map((mix) => {
    const name = mix.names['mix'] ?? null;
    const what = name === null ? 'mix-age' : `mix-age ${name}`;
    const used = lastOf(usesOf(evidence, name)) ?? evidence.input.marks.pressureOn;
    const age = inUnitOf(between(mix, used), MS_PER_MIN);
    const discarded = eventsOf(evidence, 'mix-discarded').find(
      ({ names }) => names['mix'] === name,
    );
    if (discarded !== undefined && discarded.latestMs < used.earliestMs) {
      return held(what, { ...most, most: 0 }, age);
    }
    if (activationEnergyJPerMol === undefined || referenceC === undefined) {
      return held(what, most, age);
    }
    const { tempC } = mix.numbers;
    if (tempC === undefined) return unheard(what, most);
    const doubtK = mix.numbers['expandedK'] ?? 0;
    const law = equivalentTimeLaw({
      form: 'equivalent-time',
      referenceC,
      activationEnergyJPerMol,
      source: 'the recipe',
    });
    const at = (minutes: number, c: number) =>
      law.advance(law.initial, c, c, Math.max(0, minutes) * 60);
    return held(what, most, {
      low: at(age.low, tempC - doubtK),
      high: at(age.high, tempC + doubtK),
      atMs: age.atMs,
    });
  });
}

/** Where a mix was used: what names it, or what names none where there is one mix only. */
function usesOf(evidence: Evidence, name: string | null): ScoredEvent[] {
  return eventsOf(evidence, 'spread', 'coat').filter(
    ({ names }) => names['mix'] === undefined || name === null || names['mix'] === name,
  );
}

/** Age of the material when it was used, and the warmest it was stored at. */
export function materialLifeChecks(
  asked: Extract<Requirement, { kind: 'material-life' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const uses = eventsOf(evidence, 'spread', 'mix', 'coat', 'assembled');
  const checks: RequirementCheck[] = [];
  const age = limits(undefined, asked.maxD, 'd');
  if (isAsked(age)) {
    const ages = uses.flatMap((use) => {
      const madeMs = use.numbers['madeMs'];
      if (madeMs === undefined) return [];
      return [between({ earliestMs: madeMs, latestMs: madeMs }, use)];
    });
    const oldest = longest(ages);
    checks.push(
      oldest === null ? unheard('age', age) : held('age', age, inUnitOf(oldest, MS_PER_D)),
    );
  }
  const stored = limits(undefined, asked.storedMaxC, '°C');
  if (isAsked(stored)) {
    const found = longest(
      uses.flatMap(({ numbers, latestMs }) => {
        const c = numbers['storedMaxC'];
        return c === undefined ? [] : [{ low: c, high: c, atMs: latestMs }];
      }),
    );
    checks.push(found === null ? unheard('stored', stored) : held('stored', stored, found));
  }
  return checks;
}

/** Letting the pressure off: how long from release-start to open, and in how many steps. */
export function openingChecks(
  asked: Extract<Requirement, { kind: 'opening' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const { releaseStart, open } = evidence.input.marks;
  const time = limits(asked.minS, asked.maxS, 's');
  const checks: RequirementCheck[] = [];
  const isKnown = releaseStart !== null && open !== null;
  if (isAsked(time)) {
    checks.push(
      isKnown
        ? held('time', time, inUnitOf(between(releaseStart, open), 1000))
        : unheard('time', time),
    );
  }
  const steps = limits(asked.minSteps, undefined, '1');
  if (isAsked(steps)) {
    const counted = isKnown
      ? releaseSteps(evidence, asked.point, releaseStart.earliestMs, open.latestMs)
      : null;
    checks.push(
      counted === null
        ? unheard('steps', steps)
        : held('steps', steps, { low: counted, high: counted, atMs: open?.latestMs ?? null }),
    );
  }
  return checks;
}

/** From the coat to the oven: the solvent has to be out before the film closes. */
export function flashOffChecks(evidence: Evidence): RequirementCheck[] {
  const { recipe, marks } = evidence.input;
  const asked = recipe.kind === 'oven' ? recipe.flashOffMin : undefined;
  if (asked === undefined) return [];
  const time = limits(asked.least, asked.most, 'min');
  const begun = lastOf(eventsOf(evidence, 'flash-off-start'));
  if (begun === null) return [unheard('flash-off', time)];
  return [held('flash-off', time, inUnitOf(between(begun, marks.pressureOn), MS_PER_MIN))];
}

/**
 * From the last bake to this coat: no sooner than the film bears it, and no later than it still bonds,
 * unless it was abraded in between.
 */
export function recoatChecks(
  asked: Extract<Requirement, { kind: 'recoat' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const { recipe, coats } = evidence.input;
  const coat = lastOf(eventsOf(evidence, 'coat'));
  const checks: RequirementCheck[] = [];
  const recoatH = recipe.kind === 'oven' ? recipe.recoatH : undefined;
  if (recoatH !== undefined) {
    for (const bakedMs of lastBakes(coats)) {
      const abraded = lastOf(eventsOf(evidence, 'abraded'));
      const renewed = bakedMs !== null && abraded !== null && abraded.earliestMs >= bakedMs;
      const time = limits(recoatH.least, renewed ? undefined : recoatH.most, 'h');
      const baked = bakedMs === null ? null : { earliestMs: bakedMs, latestMs: bakedMs };
      checks.push(
        coat === null || baked === null
          ? unheard('recoat', time)
          : held('recoat', time, inUnitOf(between(baked, coat), MS_PER_H)),
      );
    }
  }
  const cool = limits(undefined, asked.pieceMaxC, '°C');
  if (isAsked(cool)) {
    const before = eventsOf(evidence, 'piece-temperature').filter(
      ({ latestMs }) => coat === null || latestMs <= coat.latestMs,
    );
    const last = lastOf(before);
    const c = last?.numbers['tempC'];
    const doubtK = last?.numbers['expandedK'] ?? 0;
    checks.push(
      last === null || c === undefined
        ? unheard('piece', cool)
        : held('piece', cool, { low: c - doubtK, high: c + doubtK, atMs: last.latestMs }),
    );
  }
  return checks;
}

/**
 * When the parts of a load were baked last, earliest first [ms]; null: by a bake that nobody knows. The first coat has
 * nothing under it.
 */
function lastBakes(coats: readonly CarriedCoat[]): (number | null)[] {
  const ofParts = new Map<string, number | null>();
  for (const { endMs, own } of coats) {
    const parts = (own?.parts ?? []).join('\n');
    const known = ofParts.get(parts) ?? null;
    ofParts.set(parts, endMs === undefined ? known : Math.max(known ?? endMs, endMs));
  }
  return [...new Set(ofParts.values())].sort((a, b) => (a ?? 0) - (b ?? 0));
}

/** A rest: a store's own days; elsewhere the time until the piece went on. Null: it still rests. */
export function restChecks(
  asked: Extract<Requirement, { kind: 'rest' }>,
  evidence: Evidence,
): RequirementCheck[] | null {
  const { input } = evidence;
  const least = asked.minD !== undefined ? asked.minD * MS_PER_D : (asked.minMin ?? 0) * MS_PER_MIN;
  const unit = asked.minD !== undefined ? 'd' : 'min';
  const msPerUnit = asked.minD !== undefined ? MS_PER_D : MS_PER_MIN;
  const time = limits(least / msPerUnit, undefined, unit);
  if (input.station.kind === 'store') {
    const rested = between(input.marks.pressureOn, endMark(evidence.input));
    return [held('rest', time, inUnitOf(rested, msPerUnit))];
  }
  const end = input.marks.open ?? endMark(evidence.input);
  const moved = firstOf(
    eventsOf(evidence, 'part-moved').filter(({ latestMs }) => latestMs >= end.earliestMs),
  );
  if (moved === null) return null;
  return [held('rest', time, inUnitOf(between(end, moved), msPerUnit))];
}

function limits(least: number | undefined, most: number | undefined, unit: string): Limits {
  return { least: least ?? null, most: most ?? null, unit };
}
