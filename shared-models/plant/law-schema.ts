import { z } from 'zod';
import type { LawSpec } from '../cure/law-spec.ts';

const arrhenius = z.strictObject({
  aPerS: z.number(),
  activationEnergyJPerMol: z.number().positive(),
});

const limits = {
  validC: z.tuple([z.number(), z.number()]).optional(),
  floorC: z.number().optional(),
  ceilingC: z.number().optional(),
  diffusion: z
    .strictObject({ c: z.number(), alphaC0: z.number(), alphaCTPerK: z.number() })
    .optional(),
  glass: z
    .strictObject({ tg0C: z.number(), tgInfC: z.number(), lambda: z.number().positive() })
    .optional(),
  initial: z.number().min(0).max(1).optional(),
  gasConstant: z.number().positive().optional(),
  source: z.string().min(1).max(500).optional(),
  standardErrors: z.record(z.string(), z.number().nonnegative()).optional(),
  covariance: z
    .strictObject({
      names: z.array(z.string().min(1).max(60)).min(1).max(64),
      matrix: z.array(z.array(z.number()).max(64)).min(1).max(64),
    })
    .optional(),
};

const nthOrder = {
  form: z.literal('n-th-order'),
  aPerS: z.number(),
  activationEnergyJPerMol: z.number().positive(),
  n: z.number().positive(),
  ...limits,
};

const autocatalytic = {
  form: z.literal('autocatalytic'),
  k1: arrhenius.optional(),
  k2: arrhenius,
  m: z.number().positive(),
  n: z.number().positive(),
  b: z.number().positive().optional(),
  ...limits,
};

const plain = z.discriminatedUnion('form', [
  z.strictObject({ form: z.literal('degree-time'), baseC: z.number(), ...limits }),
  z.strictObject({
    form: z.literal('equivalent-time'),
    referenceC: z.number(),
    activationEnergyJPerMol: z.number().positive(),
    ...limits,
  }),
  z.strictObject({
    form: z.literal('z-value'),
    referenceC: z.number(),
    zK: z.number().positive(),
    ...limits,
  }),
  z.strictObject(nthOrder),
  z.strictObject(autocatalytic),
  z.strictObject({ form: z.literal('dose'), ...limits }),
]);

const untilAlpha = z.number().gt(0).lt(1).optional();

/** A cure law as a recipe or a law file writes it; `switch` stands in place of `form`. */
export const lawSchema: z.ZodType<LawSpec> = z.union([
  plain,
  z.strictObject({
    switch: z
      .array(
        z.discriminatedUnion('form', [
          z.strictObject({ ...nthOrder, untilAlpha }),
          z.strictObject({ ...autocatalytic, untilAlpha }),
        ]),
      )
      .min(2)
      .max(8),
    ...limits,
  }),
]);
