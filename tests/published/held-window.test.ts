import { expect, it } from 'vitest';
import { heldWindow } from '@setwell/shared-models/cure/held-window';
import type { LawSpec } from '@setwell/shared-models/cure/law-spec';

const law: LawSpec = {
  form: 'equivalent-time',
  referenceC: 135,
  activationEnergyJPerMol: 90_000,
  validC: [105, 150],
};
const window = { least: 6, most: 40 };

/**
 * Minutes at T for t minutes at T_ref: t·exp((E/R)·(1/T − 1/T_ref)).
 *
 * @source ASTM C1074-19, eq. 2, worked with Python's math module and R = 8.314462618 (CODATA 2018)
 */
const worked = [
  [105, 49.1934, 327.956],
  [120, 16.5043, 110.0288],
  [135, 6, 40],
  [150, 2.34347, 15.6232],
] as const;

it.each(worked)('at %i °C the least takes %f min and the most %f min', (at, least, most) => {
  const { rows } = heldWindow(law, window);
  const row = rows.find((each) => each.at === at) ?? heldRow(at);
  expect(row.leastMin).toBeCloseTo(least, 3);
  expect(row.mostMin).toBeCloseTo(most, 2);
});

/** A temperature that the table leaves out stands in the picture. */
function heldRow(at: number) {
  const { map } = heldWindow(law, window);
  const i = map.tempsC.findIndex((each) => Math.abs(each - at) < 1e-9);
  return { leastMin: map.window?.least.minutes[i], mostMin: map.window?.most?.minutes[i] };
}

it('goes from end to end of what the source vouches for, the reference among its rows', () => {
  const { rows, map } = heldWindow(law, window);
  const at = rows.map((row) => row.at);
  expect([at[0], at[at.length - 1]]).toEqual([105, 150]);
  expect(at).toContain(135);
  expect([map.tempsC[0], map.tempsC[map.tempsC.length - 1]]).toEqual([105, 150]);
});

/**
 * With u(E) = 3 kJ/mol alone, u(ln t) = u(E)/R·|1/T − 1/T_ref| = 0.033737 at 120 °C; twice that is the
 * expanded share 0.067474: 15.391 to 17.618 min. At the reference E says nothing.
 *
 * @source JCGM 100:2008, 5.1.3, worked by hand
 */
it('says how far the law’s own errors leave the time open', () => {
  const { rows } = heldWindow(
    { ...law, standardErrors: { activationEnergyJPerMol: 3000 } },
    window,
  );
  const [low = 0, high = 0] = rows.find(({ at }) => at === 120)?.leastRangeMin ?? [];
  expect(low).toBeCloseTo(15.391, 2);
  expect(high).toBeCloseTo(17.618, 2);
  const [sure = 0, sureHigh = 0] = rows.find(({ at }) => at === 135)?.leastRangeMin ?? [6, 6];
  expect([sure, sureHigh]).toEqual([expect.closeTo(6, 6), expect.closeTo(6, 6)]);
});

it('has no most where the window has none, and never reaches a degree that the law cannot', () => {
  const { rows } = heldWindow(law, { least: 6, most: null });
  expect(rows.every(({ mostMin }) => mostMin === null)).toBe(true);
  const nth: LawSpec = { form: 'n-th-order', aPerS: 1e5, activationEnergyJPerMol: 60_000, n: 1 };
  const full = heldWindow({ ...nth, validC: [80, 120] }, { least: 1, most: null });
  expect(full.rows.every(({ leastMin }) => leastMin === null)).toBe(true);
});

it('counts a dose by the irradiance that is held', () => {
  const { rows } = heldWindow({ form: 'dose' }, { least: 900, most: 4000 });
  const row = rows.find(({ at }) => at === 50);
  // 900 mJ/cm² at 50 mW/cm² are 18 s, 4000 are 80 s.
  expect([row?.leastMin, row?.mostMin]).toEqual([expect.closeTo(0.3, 9), expect.closeTo(4 / 3, 9)]);
});
