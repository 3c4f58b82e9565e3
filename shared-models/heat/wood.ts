/**
 * Specific gravity of species at 12 % moisture (ovendry mass over volume at 12 %) [1].
 *
 * @source USDA Forest Products Laboratory, Wood Handbook FPL-GTR-190, table 5-3b; typed from memory:
 * a recipe that knows its own board's density gives it and this table is not read.
 */
const SPECIFIC_GRAVITY: Record<string, number> = {
  beech: 0.64,
  birch: 0.62,
  maple: 0.63,
  oak: 0.63,
  ash: 0.6,
  walnut: 0.55,
  poplar: 0.42,
  spruce: 0.4,
  pine: 0.4,
};

/**
 * Mid-range of a press cycle, where conductivity and heat capacity are taken [K]. Both rise with
 * temperature, so that the diffusivity hardly changes through a cycle.
 */
const REFERENCE_K = 350;

/** The handbook's conductivity is for about 24 °C and rises by 2 to 3 % for 10 K; ch. 4. */
const HANDBOOK_K = 297;
const CONDUCTIVITY_RISE_PER_K = 0.0025;

export interface Thermal {
  conductivityWPerMK: number;
  densityKgPerM3: number;
  heatCapacityJPerKgK: number;
}

/** Names of the species whose density is known here. */
export const knownWoods: readonly string[] = Object.keys(SPECIFIC_GRAVITY);

/**
 * Conductivity, density and heat capacity of wood across the grain.
 *
 *   k  = (G(B + C·x) + A) · (1 + 0.0025·(T − 297))
 *   cp = (cp0 + 4.18·x/100) / (1 + x/100) + Ac,  cp0 = 0.1031 + 0.003867·T,
 *   Ac = x·(−0.06191 + 2.36e-4·T − 1.33e-4·x)
 *
 * @param material species, one of `knownWoods`, unless the density is given
 * @param moisturePct x [%], 0…25
 * @param densityKgPerM3 density of the board as it is (moist) [kg/m³]; null: from the species
 * @returns null where neither species nor density is known
 * @source USDA Wood Handbook FPL-GTR-190, ch. 4, eq. 4-7 and 4-15 to 4-17
 */
export function woodThermal(
  material: string,
  moisturePct: number,
  densityKgPerM3: number | null,
): Thermal | null {
  const x = moisturePct;
  const known = Object.hasOwn(SPECIFIC_GRAVITY, material) ? SPECIFIC_GRAVITY[material] : undefined;
  const gravity = densityKgPerM3 === null ? known : densityKgPerM3 / (1000 * (1 + x / 100));
  if (gravity === undefined) return null;
  const warmer = 1 + CONDUCTIVITY_RISE_PER_K * (REFERENCE_K - HANDBOOK_K);
  const conductivityWPerMK = warmer * (gravity * (0.1941 + 0.004064 * x) + 0.01864);
  const dryKJPerKgK = 0.1031 + 0.003867 * REFERENCE_K;
  const boundKJPerKgK = x * (-0.06191 + 2.36e-4 * REFERENCE_K - 1.33e-4 * x);
  const heatCapacityJPerKgK =
    1000 * ((dryKJPerKgK + (4.18 * x) / 100) / (1 + x / 100) + boundKJPerKgK);
  return {
    conductivityWPerMK,
    densityKgPerM3: densityKgPerM3 ?? 1000 * gravity * (1 + x / 100),
    heatCapacityJPerKgK,
  };
}
