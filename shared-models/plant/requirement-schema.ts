import { z } from 'zod';

const source = z.string().min(1).max(500);
const positive = z.number().positive();
const notNegative = z.number().nonnegative();
const pointId = z.string().regex(/^[a-z0-9][a-z0-9._-]{0,63}$/, {
  error: 'a name of small letters, digits, ".", "_" and "-", at most 64',
});
const celsius = z.number().min(-60).max(400);
const percent = z.number().min(0).max(100);

/** What every requirement carries: how it is known, and who says so. */
const covered = {
  coveredBy: z.union([
    z.enum(['measured', 'entered', 'sampled']),
    /** By which procedure the plant covers it. */
    z.strictObject({ notMonitored: z.string().min(1).max(200) }),
  ]),
  source: source.optional(),
  /** What a breach is: of the verdict, which is usual, or a deviation on the record only. */
  severity: z
    .strictObject({
      short: z.enum(['verdict', 'deviation']).optional(),
      long: z.enum(['verdict', 'deviation']).optional(),
    })
    .optional(),
};

/** One condition of a recipe beside heat. A bound that is absent is not asked for. */
export const requirementSchema = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('precure'),
    /** Of the measure, from contact to pressure-on, in its unit. */
    most: positive.optional(),
    contactToPressureMaxS: positive.optional(),
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('pressure'),
    minNPerMm2: notNegative.optional(),
    maxNPerMm2: positive.optional(),
    /** Of the glue lines under the rams: with the rams' own area it makes oil pressure a pressure on the glue. */
    pressedAreaCm2: positive.optional(),
    /** Where the station has several points of its signal. */
    point: pointId.optional(),
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('assembly-time'),
    /** Open: spread, not yet covered. Closed: covered, not yet under pressure. */
    openMinMin: notNegative.optional(),
    openMaxMin: positive.optional(),
    closedMinMin: notNegative.optional(),
    closedMaxMin: positive.optional(),
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('piece-temperature'),
    minC: celsius.optional(),
    maxC: celsius.optional(),
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('moisture'),
    minPct: percent.optional(),
    maxPct: percent.optional(),
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('mix-age'),
    maxMin: positive,
    /** Pot life shortens with warmth: `maxMin` holds at `referenceC`. */
    referenceC: celsius.optional(),
    activationEnergyJPerMol: positive.optional(),
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('mix-ratio'),
    /** Parts by weight of the second component to 100 of the first. */
    partsPer100: positive,
    tolerance: notNegative,
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('material-life'),
    maxD: positive.optional(),
    storedMaxC: celsius.optional(),
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('opening'),
    /** Pressure is let off in so many steps over so long. */
    minSteps: z.number().int().positive().max(100).optional(),
    /** The pressure whose steps are counted, where the station has several. */
    point: pointId.optional(),
    minS: positive.optional(),
    maxS: positive.optional(),
    ...covered,
  }),
  z.strictObject({ kind: z.literal('face-difference'), maxK: positive, ...covered }),
  /** Times stand in the recipe's `flashOffMin` and `recoatH`; here is how they are known. */
  z.strictObject({ kind: z.literal('flash-off'), ...covered }),
  z.strictObject({
    kind: z.literal('recoat'),
    /** The piece's own temperature before the next coat. */
    pieceMaxC: celsius.optional(),
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('film-build'),
    minGPerM2: notNegative.optional(),
    maxGPerM2: positive.optional(),
    minUm: notNegative.optional(),
    maxUm: positive.optional(),
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('air'),
    minC: celsius.optional(),
    maxC: celsius.optional(),
    minRhPct: percent.optional(),
    maxRhPct: percent.optional(),
    moving: z.boolean().optional(),
    /** Of the humidity, and of the switch that says that the air moves, where there are several. */
    point: pointId.optional(),
    fan: pointId.optional(),
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('rest'),
    minMin: positive.optional(),
    minD: positive.optional(),
    ...covered,
  }),
  z.strictObject({
    kind: z.literal('test'),
    method: z.string().min(1).max(200),
    min: z.number().optional(),
    max: z.number().optional(),
    unit: z.string().min(1).max(20).optional(),
    ...covered,
  }),
]);

export type Requirement = z.infer<typeof requirementSchema>;
