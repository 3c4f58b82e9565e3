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
 * With u(E) = 3 kJ/mol alone, u(ln k) = u(E)/R·|1/T − 1/T_ref| = 0.033737 at 120 °C; twice that is the
 * expanded share 0.067474 of the rate: 16.5043/1.067474 = 15.4611 to 16.5043/0.932526 = 17.6985 min, and
 * 103.0740 to 117.9901 min for the most. At the reference E says nothing.
 *
 * @source JCGM 100:2008, 5.1.3, worked by hand
 */
it('says how far the law’s own errors of its rate leave the times open', () => {
  const { rows } = heldWindow(
    { ...law, standardErrors: { activationEnergyJPerMol: 3000 } },
    window,
  );
  const row = rows.find(({ at }) => at === 120);
  expect(row?.leastRangeMin).toEqual([expect.closeTo(15.4611, 2), expect.closeTo(17.6985, 2)]);
  expect(row?.mostRangeMin).toEqual([expect.closeTo(103.074, 1), expect.closeTo(117.9901, 1)]);
  const [sure = 0, sureHigh = 0] = rows.find(({ at }) => at === 135)?.leastRangeMin ?? [6, 6];
  expect([sure, sureHigh]).toEqual([expect.closeTo(6, 6), expect.closeTo(6, 6)]);
});

/**
 * u(E)/R·|1/T − 1/T_ref|·2 at 105 °C is 0.046755·u(E) per kJ/mol: 0.46755 at 10 kJ/mol, 49.1934/1.46755 =
 * 33.521 to 49.1934/0.53245 = 92.391 min; 1.16888 at 25 kJ/mol, more than the whole rate.
 *
 * @source JCGM 100:2008, 5.1.3, worked by hand
 */
it('has no upper end where the errors leave no rate, and never a time below none', () => {
  const at105 = (error: number) =>
    heldWindow({ ...law, standardErrors: { activationEnergyJPerMol: error } }, window).rows.find(
      ({ at }) => at === 105,
    );
  expect(at105(10_000)?.leastRangeMin).toEqual([
    expect.closeTo(33.52, 1),
    expect.closeTo(92.39, 1),
  ]);
  expect(at105(25_000)?.leastRangeMin).toEqual([expect.closeTo(22.68, 1), null]);
  expect(at105(25_000)?.mostRangeMin).toEqual([expect.closeTo(151.2, 0), null]);
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
