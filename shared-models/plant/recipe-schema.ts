import { z } from 'zod';
import { lawSchema } from './law-schema.ts';
import { id } from './plant-schema.ts';

const source = z.string().min(1).max(500);

const material = {
  thicknessMm: z.number().positive().max(500),
  count: z.number().int().min(1).max(200).default(1),
};

const layer = z.union([
  z.strictObject({
    material: z.string().min(1).max(60),
    moisturePct: z.number().min(0).max(30).optional(),
    densityKgPerM3: z.number().positive().max(25_000).optional(),
    ...material,
  }),
  z.strictObject({
    name: z.string().max(60).optional(),
    conductivityWPerMK: z.number().positive().max(500),
    densityKgPerM3: z.number().positive().max(25_000),
    heatCapacityJPerKgK: z.number().positive().max(10_000),
    ...material,
  }),
]);

/** Start temperature of the piece: a number, a range, or a point that measures it. */
const initialC = z.union([
  z.number().min(-50).max(200),
  z.strictObject({ least: z.number(), most: z.number() }),
  z.strictObject({ point: id }),
]);

const tolerance = z.strictObject({
  diffusivityPct: z.number().nonnegative().max(100).optional(),
  contactPct: z.number().nonnegative().max(100).optional(),
  placeK: z.number().nonnegative().max(50).optional(),
  lawPct: z.number().nonnegative().max(100).optional(),
});

/** The value of `layup:`; also a file of its own for `setwell heat`. */
export const layupSchema = z.strictObject({
  layers: z.array(layer).min(1).max(100),
  contactWPerM2K: z.number().positive().max(1e6).optional(),
  tolerance: tolerance.optional(),
  dryGlue: z.boolean().optional(),
  evaporation: z
    .strictObject({
      waterKgPerM2PerLine: z.number().positive().max(1),
      share: z.tuple([z.number().min(0).max(1), z.number().min(0).max(1)]),
    })
    .optional(),
  initialC: initialC.default(20),
  faces: z
    .strictObject({
      upper: z
        .union([
          z.strictObject({ fixed: z.literal(true) }),
          z.strictObject({ contactWPerM2K: z.number().positive().max(1e6) }),
          z.strictObject({ insulated: z.literal(true) }),
        ])
        .optional(),
      lower: z
        .union([
          z.strictObject({ fixed: z.literal(true) }),
          z.strictObject({ contactWPerM2K: z.number().positive().max(1e6) }),
          z.strictObject({ insulated: z.literal(true) }),
        ])
        .optional(),
    })
    .optional(),
});

const part = z.union([
  z.strictObject({
    follows: z.literal('air'),
    initialC: initialC.optional(),
    tolerance: tolerance.optional(),
  }),
  z.strictObject({
    timeConstantMin: z.number().positive().max(10_000),
    initialC: initialC.optional(),
    tolerance: tolerance.optional(),
  }),
  z.strictObject({
    layers: z.array(layer).min(1).max(100),
    convectionWPerM2K: z.number().positive().max(10_000),
    face: z.enum(['one', 'both']),
    initialC: initialC.optional(),
    tolerance: tolerance.optional(),
  }),
]);

const bounds = z.strictObject({
  least: z.number().nonnegative(),
  most: z.number().positive().optional(),
  mostNone: z.string().min(1).max(300).optional(),
  noReturn: z.number().nonnegative().optional(),
  source: source.optional(),
});

const coverage = z.union([
  z.enum(['measured', 'entered', 'sampled']),
  z.strictObject({ notMonitored: z.string().min(1).max(200) }),
]);

const requirement = z.looseObject({
  kind: z.enum([
    'precure',
    'pressure',
    'assembly-time',
    'piece-temperature',
    'moisture',
    'mix-age',
    'mix-ratio',
    'material-life',
    'opening',
    'flash-off',
    'recoat',
    'film-build',
    'air',
    'rest',
    'test',
  ]),
  coveredBy: coverage,
  source: source.optional(),
});

const common = {
  id,
  title: z.string().min(1).max(120),
  law: lawSchema,
  plannedMin: z.number().positive().optional(),
  limits: z
    .array(
      z.union([
        z.strictObject({
          phase: z.enum(['before-load', 'hold']),
          minC: z.number(),
          maxC: z.number(),
        }),
        z.strictObject({ phase: z.literal('recovery'), withinMin: z.number().positive() }),
      ]),
    )
    .max(20)
    .optional(),
  requirements: z.array(requirement).max(40).default([]),
};

const place = z.strictObject({ id, zones: z.array(id).min(1), layup: layupSchema });

export const recipeSchema = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('press'),
    ...common,
    window: bounds,
    layup: layupSchema.optional(),
    places: z.array(place).min(1).max(16).optional(),
  }),
  z.strictObject({ kind: z.literal('rack'), ...common, window: bounds, part }),
  z.strictObject({
    kind: z.literal('oven'),
    ...common,
    coat: z.number().int().min(1).max(50).optional(),
    window: z.strictObject({ step: bounds, total: bounds.optional() }),
    flashOffMin: z
      .strictObject({ least: z.number().nonnegative(), most: z.number().positive() })
      .optional(),
    recoatH: z
      .strictObject({ least: z.number().nonnegative(), most: z.number().positive() })
      .optional(),
    part,
  }),
  z.strictObject({
    kind: z.literal('store'),
    ...common,
    window: z.strictObject({
      rest: z.strictObject({
        calendarLeastD: z.number().nonnegative(),
        equivalentLeastD: z.number().nonnegative(),
        mostNone: z.string().max(300).optional(),
        source: source.optional(),
      }),
    }),
    part,
  }),
  z.strictObject({ kind: z.literal('bench'), ...common, window: bounds, part: part.optional() }),
]);

/** `recipe.yaml` as parsed: what a product needs at a kind of station. */
export type Recipe = z.infer<typeof recipeSchema>;
export type Layup = z.infer<typeof layupSchema>;
export type Layer = z.infer<typeof layer>;
export type Part = z.infer<typeof part>;
export type Tolerance = z.infer<typeof tolerance>;
export type InitialC = z.infer<typeof initialC>;
export type Requirement = z.infer<typeof requirement>;
export type WindowBounds = z.infer<typeof bounds>;
