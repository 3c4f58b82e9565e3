import { weightOf } from './doubts.ts';
import { Envelope, type FaceCourse } from './envelope.ts';
import type { LoadFold } from './fold.ts';
import type { Run } from './run.ts';
import type { BudgetRow, Gap, JudgedPlace } from './shape.ts';
import type { JudgedWindow } from './window.ts';
import { intervalOf, type ZoneRuns } from './zone-runs.ts';

/** Looks into each gap at so many times to see how much of the doubt is its. */
const LOOKS = 16;

/**
 * What each doubt costs at the worst place.
 *
 * The low run stands at the root sum of squares of all that was moved, so a term's own cost is its
 * weight times the whole. What the faces may have done between readings, what the marks leave open and
 * what the law's range withholds are priced by runs that move nothing else, and are whole.
 */
export function budgetOf(
  fold: LoadFold,
  { perLawUnit, unit }: JudgedWindow,
  worst: JudgedPlace,
): BudgetRow[] {
  const zone = zoneOf(fold, worst);
  if (zone === null) return [];
  const spot = spotOf(zone, worst);
  const { low, nominal, high } = intervalOf(zone, spot);
  const below = (run: Run | null) =>
    run === null ? 0 : Math.max(0, zone.nominal.value(spot) - run.value(spot));
  const above = (run: Run | null) =>
    run === null ? 0 : Math.max(0, run.value(spot) - zone.nominal.value(spot));
  const whole: BudgetRow[] = [
    { term: 'gap', down: below(zone.gapLow), up: above(zone.gapHigh), unit },
    { term: 'marks', down: below(zone.marksLow), up: above(zone.marksHigh), unit },
    { term: 'range', down: below(zone.rangeLow), up: above(zone.rangeHigh), unit },
  ];
  const sum = (end: 'down' | 'up') => whole.reduce((all, row) => all + row[end], 0);
  const movedDown = Math.max(0, nominal - low - sum('down')) * perLawUnit;
  const movedUp = Math.max(0, high - nominal - sum('up')) * perLawUnit;
  const rows = zone.doubts.map(({ term }): BudgetRow => ({
    term,
    down: weightOf(zone.terms, term, -1) * movedDown,
    up: weightOf(zone.terms, term, 1) * movedUp,
    unit,
  }));
  const told = whole
    .filter(({ term, down, up }) => term === 'gap' || down > 0 || up > 0)
    .map((row) => ({ ...row, down: row.down * perLawUnit, up: row.up * perLawUnit }));
  return [...rows, ...told];
}

/** What each silence costs of the gaps' whole, by how far the face may have been from its middle. */
export function gapCosts(fold: LoadFold, worst: JudgedPlace, gapDown: number): Map<Gap, number> {
  const zone = zoneOf(fold, worst);
  const costs = new Map<Gap, number>();
  if (zone === null) return costs;
  let all = 0;
  for (const gap of fold.gaps) {
    const face = faceOf(zone, gap.point);
    if (face === null) continue;
    const toMs = gap.toMs ?? fold.grid.endMs;
    let doubtK = 0;
    for (let look = 0; look < LOOKS; look += 1) {
      face.at(gap.fromMs + ((look + 0.5) / LOOKS) * (toMs - gap.fromMs));
      doubtK += face.nominal - face.low;
    }
    const cost = (doubtK / LOOKS) * (toMs - gap.fromMs);
    costs.set(gap, cost);
    all += cost;
  }
  for (const [gap, cost] of costs) costs.set(gap, all > 0 ? (cost / all) * gapDown : 0);
  return costs;
}

function faceOf({ zone, upper, lower }: ZoneRuns, point: string): FaceCourse | null {
  if (zone.belt !== undefined) return upper;
  const face = point === zone.lower ? lower : upper;
  const known = [zone.upper, zone.lower, zone.air].includes(point);
  return known && face instanceof Envelope ? face : null;
}

function zoneOf({ zones }: LoadFold, { zone }: JudgedPlace): ZoneRuns | null {
  return zones.find((each) => each?.zone.id === zone) ?? null;
}

function spotOf({ piece }: ZoneRuns, { glueLine }: JudgedPlace): number {
  return piece.spots.findIndex((spot) => spot.glueLine === glueLine);
}
