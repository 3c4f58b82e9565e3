import { z } from 'zod';

const name = z.string().regex(/^[a-z0-9][a-z0-9._-]{0,63}$/, {
  error: 'a name of small letters, digits, ".", "_" and "-", at most 64',
});
const clock = z
  .string()
  .regex(/^([01]\d|2[0-3]):[0-5]\d$/, { error: 'a time of day such as 06:00' });
const secretFile = z.string().min(1).max(1000);
const job = z.enum(['shift-lead', 'maintenance', 'engineer', 'administrator']);

/** A shift by the plant's clock; one that ends before it begins ends on the next day. */
export const shiftSchema = z.strictObject({
  id: name,
  days: z
    .array(z.enum(['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun']))
    .min(1)
    .max(7),
  from: clock,
  to: clock,
});

/** Which calls a route tells. */
const route = {
  id: name,
  jobs: z.array(job).min(1).max(4),
  /** Kinds of calls; absent: all. */
  kinds: z.array(z.string().min(1).max(40)).min(1).max(60).optional(),
  stations: z.array(name).min(1).max(1000).optional(),
};

/** When a person is told. */
const times = {
  /** Only what is called while one of these shifts runs; absent: always. */
  shifts: z.array(name).min(1).max(20).optional(),
  /** Nothing is sent between these; what was called meanwhile comes together at the end. */
  quiet: z.strictObject({ from: clock, to: clock }).optional(),
  /** Not one by one: together once a day. */
  digest: clock.optional(),
  language: z.enum(['en', 'de']).default('en'),
};

const webAddress = z
  .string()
  .max(500)
  .regex(/^https?:\/\/(\[[0-9a-f:.]+\]|[^\s/:@?#[\]]+)(:\d{1,5})?(\/[^\s@?#]*)?$/, {
    error: 'an http or https address without a user, a password and a query',
  });

const tellRoute = z.discriminatedUnion('by', [
  z.strictObject({
    by: z.literal('mail'),
    ...route,
    ...times,
    to: z.array(z.email().max(254)).min(1).max(50),
  }),
  z.strictObject({
    by: z.literal('webhook'),
    ...route,
    ...times,
    url: webAddress,
    /** What the signature is made with; at least 32 characters. */
    secretFile,
    /** Addresses inside the plant that may be asked; others are public ones only. */
    allow: z
      .array(z.union([z.ipv4(), z.ipv6()]))
      .max(20)
      .default([]),
  }),
  z.strictObject({
    by: z.literal('lamp'),
    ...route,
    /** Below `setwell/`, retained. */
    topic: z.string().regex(/^setwell\/[A-Za-z0-9._/-]{1,200}$/, {
      error: 'a topic below setwell/, without wildcards',
    }),
  }),
]);

/** Who is told of calls away from the screens, and how. */
export const tellSchema = z.strictObject({
  mail: z
    .strictObject({
      host: z.string().min(1).max(253),
      port: z.number().int().min(1).max(65_535).default(587),
      security: z.enum(['starttls', 'tls', 'none']).default('starttls'),
      from: z.email().max(254),
      username: z.string().min(1).max(200).optional(),
      passwordFile: secretFile.optional(),
    })
    .optional(),
  routes: z.array(tellRoute).min(1).max(100),
  /** Once a day the newest signed checkpoint goes to addresses outside, by the mail server. */
  checkpoint: z
    .strictObject({
      to: z.array(z.email().max(254)).min(1).max(50),
      at: clock.default('06:00'),
      language: z.enum(['en', 'de']).default('en'),
    })
    .optional(),
});

export type Shift = z.infer<typeof shiftSchema>;
export type Tell = z.infer<typeof tellSchema>;
export type TellRoute = z.infer<typeof tellRoute>;
export type MailServer = NonNullable<Tell['mail']>;
