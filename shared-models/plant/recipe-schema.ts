import { z } from 'zod';
import { lawSchema } from './law-schema.ts';
import { id } from './plant-schema.ts';
import { requirementSchema } from './requirement-schema.ts';

const source = z.string().min(1).max(500);
const celsius = z.number().min(-60).max(400);

const material = {
  thicknessMm: z.number().positive().max(500),
  /** Layers alike, one on the other, with a glue line between each two. */
  count: z.number().int().min(1).max(200).default(1),
  /** Caul, pad, release film, paper: no glue line at it. Absent: metals, silicone and rubber are tools. */
  tool: z.boolean().optional(),
};

const contactWPerM2K = z.number().positive().max(1e6);

const solid = z.union([
  z.strictObject({
    material: z.string().min(1).max(60),
    moisturePct: z.number().min(0).max(30).optional(),
    densityKgPerM3: z.number().positive().max(25_000).optional(),
    ...material,
  }),
  z.strictObject({
    name: z.string().min(1).max(60).optional(),
    conductivityWPerMK: z.number().positive().max(500),
    densityKgPerM3: z.number().positive().max(25_000),
    heatCapacityJPerKgK: z.number().positive().max(10_000),
    ...material,
  }),
]);

/** Between two layers that only lie on each other, a caul and a pad, say: a contact, and no glue line. */
const layer = z.union([...solid.options, z.strictObject({ contactWPerM2K })]);

/** Start temperature of the piece: a number, a range, or a point that measures it. */
const initialC = z.union([
  z.number().min(-60).max(200),
  z.strictObject({ least: celsius, most: celsius }),
  z.strictObject({ point: id }),
]);

/** Half-widths; 0 or absent adds nothing. */
const tolerance = z.strictObject({
  diffusivityPct: z.number().nonnegative().max(100).optional(),
  contactPct: z.number().nonnegative().max(100).optional(),
  placeK: z.number().nonnegative().max(50).optional(),
  lawPct: z.number().nonnegative().max(100).optional(),
});

const face = z.union([
  z.strictObject({ fixed: z.literal(true) }),
  z.strictObject({ contactWPerM2K }),
  z.strictObject({ insulated: z.literal(true) }),
]);

/** The value of `layup:`; also a file of its own for `setwell heat`. */
export const layupSchema = z.strictObject({
  layers: z.array(layer).min(1).max(100),
  contactWPerM2K: contactWPerM2K.optional(),
  tolerance: tolerance.optional(),
  dryGlue: z.boolean().optional(),
  /** Water in liquid glue, and the share of it that the heat has to evaporate, least and most. */
  evaporation: z
    .strictObject({
      waterKgPerM2PerLine: z.number().positive().max(1),
      share: z.tuple([z.number().min(0).max(1), z.number().min(0).max(1)]),
    })
    .optional(),
  initialC: initialC.default(20),
  faces: z.strictObject({ upper: face.optional(), lower: face.optional() }).optional(),
});

const pieceStart = { initialC: initialC.optional(), tolerance: tolerance.optional() };

/** How the piece follows the air of a rack, oven, store or bench. */
const part = z.union([
  z.strictObject({ follows: z.literal('air'), ...pieceStart }),
  z.strictObject({ timeConstantMin: z.number().positive().max(10_000), ...pieceStart }),
  z.strictObject({
    layers: z.array(layer).min(1).max(100),
    convectionWPerM2K: z.number().positive().max(10_000),
    face: z.enum(['one', 'both']),
    ...pieceStart,
  }),
]);

/** Least and most of the measure, in its unit. */
export interface WindowBounds {
  least: number;
  /** Absent where there is none; `mostNone` says why. */
  most?: number | undefined;
  mostNone?: string | undefined;
  /** Beyond it an opened line is not pressed again. */
  noReturn?: number | undefined;
  source?: string | undefined;
}

const bounds = z
  .strictObject({
    least: z.number().nonnegative(),
    most: z.union([z.number().positive(), z.literal('none')]).optional(),
    mostNone: z.string().min(1).max(300).optional(),
    noReturn: z.number().nonnegative().optional(),
    source: source.optional(),
  })
  .transform(({ most, ...rest }): WindowBounds =>
    most === undefined || most === 'none' ? rest : { ...rest, most },
  );

const limit = z.discriminatedUnion('phase', [
  z.strictObject({ phase: z.literal('before-load'), minC: celsius, maxC: celsius }),
  z.strictObject({ phase: z.literal('recovery'), withinMin: z.number().positive().max(10_000) }),
  z.strictObject({ phase: z.literal('hold'), minC: celsius, maxC: celsius }),
]);

const common = {
  id,
  title: z.string().min(1).max(120),
  law: lawSchema,
  plannedMin: z.number().positive().max(10_000_000).optional(),
  /** A breach is a deviation on the record, never a verdict. */
  limits: z.array(limit).max(20).optional(),
  requirements: z.array(requirementSchema).max(40).default([]),
};

const place = z.strictObject({ id, zones: z.array(id).min(1).max(64), layup: layupSchema });

/** Where in a part an oven's bake is judged: its thin edge, its thick middle. */
const partPlace = z.strictObject({ id, part });

const leastAndMost = z.strictObject({
  least: z.number().nonnegative(),
  most: z.number().positive(),
});

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
    /** Which coat this bake is for. */
    coat: z.number().int().min(1).max(50).optional(),
    window: z.strictObject({ step: bounds, total: bounds.optional() }),
    flashOffMin: leastAndMost.optional(),
    recoatH: leastAndMost.optional(),
    part: part.optional(),
    places: z.array(partPlace).min(1).max(16).optional(),
  }),
  z.strictObject({
    kind: z.literal('store'),
    ...common,
    window: z.strictObject({
      rest: z.strictObject({
        calendarLeastD: z.number().nonnegative().max(10_000),
        equivalentLeastD: z.number().nonnegative().max(10_000),
        mostNone: z.string().min(1).max(300).optional(),
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
/** A layer of some thickness. */
export type SolidLayer = z.infer<typeof solid>;
export type Part = z.infer<typeof part>;
export type Tolerance = z.infer<typeof tolerance>;
export type InitialC = z.infer<typeof initialC>;
export type { Requirement } from './requirement-schema.ts';
