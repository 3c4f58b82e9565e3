import { z } from 'zod';

/** Names of stations, zones, points, recipes: they become topics, columns and addresses. */
export const id = z
  .string()
  .regex(/^[a-z0-9][a-z0-9._-]{0,63}$/, 'small letters, digits, ".", "_" and "-", at most 64');

const zoneOfPlaten = z.strictObject({ id, point: id });

const zone = z.strictObject({
  id,
  /** Press: the points of the two faces. One-sided heating names only the heated one. */
  upper: id.optional(),
  lower: id.optional(),
  /** Rack, oven, store, bench: the point in the air (or in the bonded part). */
  air: id.optional(),
  opening: id.optional(),
});

export const stationSchema = z.strictObject({
  id,
  title: z.string().max(120).optional(),
  kind: z.enum(['press', 'rack', 'oven', 'store', 'bench']),
  heating: z
    .enum(['conduction', 'one-sided', 'radio-frequency', 'infrared', 'ultraviolet'])
    .default('conduction'),
  maxHeatingKPerMin: z.number().positive().max(1000),
  maxCoolingKPerMin: z.number().positive().max(1000),
  loadingDropKPerMin: z.number().positive().max(1000).optional(),
  supplyMaxC: z.number().min(-50).max(400),
  surroundingsMinC: z.number().min(-60).max(100),
  zones: z.array(zone).min(1).max(64).optional(),
  platens: z.array(z.strictObject({ id, zones: z.array(zoneOfPlaten).min(1).max(32) })).optional(),
  openings: z.array(z.strictObject({ id, upper: id, lower: id })).optional(),
  collectors: z.array(id).optional(),
  /** Minutes of platens above `readyC` but without a load before the row says empty. */
  readyC: z.number().optional(),
});

const calibration = z.strictObject({
  certificate: z.string().min(1).max(80),
  date: z.iso.date(),
  due: z.iso.date(),
  k: z.number().positive(),
  points: z
    .array(
      z.strictObject({
        atC: z.number(),
        correctionK: z.number(),
        expandedK: z.number().nonnegative(),
      }),
    )
    .min(1)
    .max(64),
});

export const sensorSchema = z.strictObject({
  id,
  topic: z.string().min(1).max(256),
  role: z.enum(['control', 'watch']).default('watch'),
  signal: z.enum([
    'celsius',
    'fahrenheit',
    'kelvin',
    'ohm',
    'millivolt',
    'percent',
    'bar',
    'metre-per-minute',
    'ampere',
    'milliwatt-per-cm2',
    'switch',
  ]),
  format: z.enum(['json', 'senml', 'bare']).optional(),
  element: z
    .strictObject({
      type: z.string(),
      class: z.string().optional(),
      standard: z.string().optional(),
    })
    .optional(),
  everyS: z.number().positive().max(86_400).optional(),
  report: z
    .strictObject({ onChangeK: z.number().positive(), heartbeatS: z.number().positive() })
    .optional(),
  resolutionK: z.number().nonnegative().optional(),
  plausible: z.strictObject({
    minC: z.number(),
    maxC: z.number(),
    maxRateKPerMin: z.number().positive(),
  }),
  calibration: calibration.optional(),
  depthMm: z.number().nonnegative().optional(),
});

export const plantSchema = z.strictObject({
  site: z.strictObject({
    id,
    title: z.string().max(120).optional(),
    timeZone: z.string().min(1).max(64),
    demo: z.boolean().optional(),
  }),
  broker: z.union([
    z.strictObject({
      builtIn: z.literal(true),
      port: z.number().int().min(1).max(65_535).default(1883),
    }),
    z.strictObject({
      url: z.string().min(1).max(500),
      username: z.string().max(200).optional(),
      passwordFile: z.string().max(1000).optional(),
      caFile: z.string().max(1000).optional(),
    }),
  ]),
  stations: z.array(stationSchema).max(1000),
  sensors: z.array(sensorSchema).max(20_000).default([]),
});

/** `plant.yaml` as written. */
export type PlantFile = z.infer<typeof plantSchema>;
export type StationFile = z.infer<typeof stationSchema>;
export type Sensor = z.infer<typeof sensorSchema>;
export type StationKind = StationFile['kind'];
export type Heating = StationFile['heating'];
