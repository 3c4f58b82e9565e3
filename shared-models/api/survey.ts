import { z } from 'zod';

const name = z.string().min(1).max(120);
const ms = z.number().int().nonnegative();

/** A logger's file within the limit of an act [characters]. */
const mostText = 48 * 1024;
export const mostSurveyed = 60;
/** What a survey may be asked for, as a recipe's and a plant's files bound temperatures. */
export const goalLimits = {
  setPointC: { from: -100, to: 400 },
  toleranceK: { from: 0.01, to: 100 },
  soakMin: { from: 1, to: 720 },
} as const;

/** Half an hour of soak is usual (common practice, no source); two days of samples are no survey [ms]. */
export const longestSoakMs = 12 * 3_600_000;

/** Where the samples of a survey come from: the plant's own points as they spoke, or a logger's file. */
export const soak = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('live'),
    points: z.array(name).min(2, 'two points or more').max(mostSurveyed),
    fromMs: ms,
    toMs: ms,
  }),
  z.strictObject({
    kind: z.literal('file'),
    name,
    text: z.string().max(mostText),
    /** Whether columns are the plant's points as they showed, to be corrected first. */
    asShown: z.boolean(),
    atMs: ms,
  }),
]);

export type SoakGiven = z.infer<typeof soak>;
