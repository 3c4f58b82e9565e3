import { z } from 'zod';
import { usualLotFileYears } from '../record/retention.ts';
import { shiftSchema, tellSchema } from './tell-schema.ts';
import { platenMetals } from '../heat/materials.ts';
import { instantMs } from './instant.ts';

/** Names of stations, zones, points, recipes: they become topics, columns and addresses. */
export const id = z.string().regex(/^[a-z0-9][a-z0-9._-]{0,63}$/, {
  error: 'a name of small letters, digits, ".", "_" and "-", at most 64',
});

const title = z.string().min(1).max(120);
const perMin = z.number().positive().max(1000);

const zone = z.strictObject({
  id,
  /** Press: the points of the two faces. One-sided heating names only the heated one. */
  upper: id.optional(),
  lower: id.optional(),
  /** Rack, oven, store, bench: the point in the air (or in the bonded part). */
  air: id.optional(),
  /** Where the zones of several openings are written out. */
  opening: id.optional(),
  /** Conveyor oven: where on the belt it is, from where a part comes on. */
  fromM: z.number().nonnegative().max(10_000).optional(),
  toM: z.number().positive().max(10_000).optional(),
});

/** A heated plate: one point, or one in each of its zones. */
const platen = z.union([
  z.strictObject({ id, point: id }),
  z.strictObject({
    id,
    zones: z
      .array(z.strictObject({ id, point: id }))
      .min(1)
      .max(32),
  }),
]);

export const stationSchema = z.strictObject({
  id,
  title: title.optional(),
  /** Where it stands: rights to act are given by hall. */
  hall: title.optional(),
  kind: z.enum(['press', 'rack', 'oven', 'store', 'bench']),
  heating: z
    .enum(['conduction', 'one-sided', 'radio-frequency', 'infrared', 'ultraviolet'])
    .default('conduction'),
  /** The envelope of gaps, with supply and surroundings. */
  maxHeatingKPerMin: perMin,
  maxCoolingKPerMin: perMin,
  /** The dip after a cold charge, until recovery. */
  loadingDropKPerMin: perMin.optional(),
  supplyMaxC: z.number().min(-50).max(400),
  surroundingsMinC: z.number().min(-60).max(100),
  zones: z.array(zone).min(1).max(64).optional(),
  /** From the top; an opening lies between two of them. */
  platens: z.array(platen).min(2).max(65).optional(),
  openings: z
    .array(z.strictObject({ id, upper: id, lower: id }))
    .min(1)
    .max(64)
    .optional(),
  /** Between a point and the face it is under; absent: steel. Only points with a depth ask for it. */
  platenMetal: z
    .union([
      z.enum(platenMetals),
      z.strictObject({
        conductivityWPerMK: z.number().positive().max(500),
        densityKgPerM3: z.number().positive().max(25_000),
        heatCapacityJPerKgK: z.number().positive().max(10_000),
      }),
    ])
    .optional(),
  /** Conveyor oven: the point of its belt's speed; its zones say where they are. */
  beltSpeed: id.optional(),
  /** In order of preference. */
  collectors: z.array(id).min(1).max(8).optional(),
  /** The points that show when the station is closed, where there are any. */
  closedBy: z
    .strictObject({
      /** Of the ram: on while it presses. */
      pressure: id.optional(),
      /** A switch, 1 while the press is shut. */
      limitSwitch: id.optional(),
      /** A switch, 1 while the door is open. */
      door: id.optional(),
    })
    .optional(),
  /** Above it and without a load the station counts as empty, below it as heating [°C]. */
  readyC: z.number().min(-50).max(400).optional(),
});

const correction = z.strictObject({
  atC: z.number().min(-200).max(2000),
  correctionK: z.number().min(-100).max(100),
  expandedK: z.number().nonnegative().max(100),
});

const calibration = z.strictObject({
  certificate: z.string().min(1).max(80),
  date: z.iso.date(),
  due: z.iso.date(),
  /** Coverage factor of `expandedK`. */
  k: z.number().positive().max(10),
  points: z.array(correction).min(1).max(64),
});

/** As found before, as left after adjustment; `points` are the ones that count from then on. */
export const calibrationSchema = calibration.extend({
  asFound: z.array(correction).min(1).max(64).optional(),
  asLeft: z.array(correction).min(1).max(64).optional(),
});

const element = z.strictObject({
  type: z.string().min(1).max(40),
  /** Classes 1 and 2 are as good a number as a text in YAML. */
  class: z
    .union([z.string().min(1).max(20), z.number().int().min(1).max(3)])
    .transform(String)
    .optional(),
  standard: z.string().min(1).max(80).optional(),
  /** Resistance: what the wires add to it; two wires both together, three their difference. */
  leadOhm: z.number().min(-100).max(100).optional(),
  /** Millivolts: temperature of the terminals; 0 where the input makes up for it. */
  terminalsC: z.number().min(-60).max(150).optional(),
});

export const temperatureSignals = ['celsius', 'fahrenheit', 'kelvin', 'ohm', 'millivolt'] as const;
export const otherSignals = [
  'percent',
  'bar',
  'metre-per-minute',
  'ampere',
  'milliwatt-per-cm2',
  'switch',
] as const;

/** What a temperature can be there; outside it the reading is doubted, not the plate. */
const plausibleTemperature = z.strictObject({
  minC: z.number().min(-273.15).max(2000),
  maxC: z.number().min(-273.15).max(2000),
  maxRateKPerMin: z.number().positive().max(100_000),
});

/** The same of any other signal, in the signal's own unit. */
const plausibleOther = z.strictObject({
  min: z.number(),
  max: z.number(),
  maxRatePerMin: z.number().positive().optional(),
});

/** What a measured place has, whatever is fitted there. */
const place = {
  id,
  topic: z.string().min(1).max(256).optional(),
  /** For a point that is in no zone, such as a station's pressure. */
  station: id.optional(),
  role: z.enum(['control', 'watch']).default('watch'),
  signal: z.enum([...temperatureSignals, ...otherSignals]),
  format: z.enum(['json', 'senml', 'bare']).optional(),
  everyS: z.number().positive().max(86_400).optional(),
  report: z
    .union([
      z.strictObject({ onChangeK: z.number().positive(), heartbeatS: z.number().positive() }),
      z.strictObject({ onChange: z.number().positive(), heartbeatS: z.number().positive() }),
    ])
    .optional(),
  resolutionK: z.number().nonnegative().max(100).optional(),
  /** Standard deviation of one reading about the temperature; absent: taken from what it read before a load. */
  noiseK: z.number().nonnegative().max(100).optional(),
  /** Expanded uncertainty (k = 2) of a reading that is no temperature, in the signal's own unit. */
  expanded: z.number().nonnegative().optional(),
  /** Pressure of the oil: area of all rams together, which makes it a force. */
  ramAreaCm2: z.number().positive().max(1e6).optional(),
  plausible: z.union([plausibleTemperature, plausibleOther]),
  /** Under the face of the platen or tool: the metal between counts. */
  depthMm: z.number().nonnegative().max(1000).optional(),
};

export const sensorSchema = z.strictObject({
  ...place,
  element: element.optional(),
  calibration: calibration.optional(),
});

const pointSchema = z.strictObject(place);

export const instrumentSchema = z.strictObject({
  id,
  serial: z.string().min(1).max(80).optional(),
  element: element.optional(),
  /** Transmitter, cable and input that belong to it. */
  loop: z.string().min(1).max(200).optional(),
  calibrations: z.array(calibrationSchema).max(200).default([]),
});

const instant = z.iso.datetime({ offset: true }).refine((text) => instantMs(text) !== null, {
  error: 'a time with its zone, such as 2026-03-02T06:00:00Z',
});

/** Which instrument was at which point, from when to when; without `to` it still is. */
const fittedSchema = z.strictObject({
  point: id,
  instrument: id,
  from: instant,
  to: instant.optional(),
  /** When and by whom the wire was proven to end where the drawing says. */
  wireProven: z.strictObject({ at: instant, by: z.string().min(1).max(120) }).optional(),
});

const secretFile = z.string().min(1).max(1000);

/** What every version of InfluxDB needs: where it answers. */
const influxUrl = { url: z.string().min(1).max(500) };

/** Names on the server, which come into an address or into SQL there. */
const influxName = z.string().min(1).max(120);

/** The long history of readings; secrets stand in files of their own. */
const influx = z.discriminatedUnion('version', [
  z.strictObject({
    ...influxUrl,
    version: z.literal(1),
    database: influxName,
    retentionPolicy: influxName.optional(),
    username: z.string().min(1).max(200).optional(),
    passwordFile: secretFile.optional(),
  }),
  z.strictObject({
    ...influxUrl,
    version: z.literal(2),
    org: influxName,
    bucket: influxName,
    tokenFile: secretFile.optional(),
  }),
  z.strictObject({
    ...influxUrl,
    version: z.literal(3),
    database: influxName,
    tokenFile: secretFile.optional(),
  }),
]);

export const plantSchema = z.strictObject({
  site: z.strictObject({
    id,
    title: title.optional(),
    timeZone: z
      .string()
      .max(64)
      .regex(/^(UTC|[A-Za-z_]+(\/[A-Za-z0-9_+-]+){1,2})$/, {
        error: 'a time zone such as Europe/Copenhagen',
      }),
    demo: z.boolean().optional(),
    /** Whether screens in the plant's network may be read without signing in; acts never. */
    reading: z.enum(['open', 'signed-in']).default('signed-in'),
    /** So long after an account has ended its name is forgotten by itself [d]. */
    namesKeptD: z.number().int().min(0).max(3650).default(400),
    /** Days after its due date on which a certificate still counts, with a doubt that grows. */
    graceDays: z.number().int().min(0).max(366).default(30),
    /** The collector that takes acts for the whole site. */
    keeper: id.optional(),
  }),
  broker: z.union([
    z.strictObject({
      builtIn: z.literal(true),
      port: z.number().int().min(1).max(65_535).default(1883),
      /** Where the plant's network reaches it; this machine alone unless it is named. */
      address: z.union([z.ipv4(), z.ipv6()]).optional(),
      certificateFile: secretFile.optional(),
      keyFile: secretFile.optional(),
      /** Users' passwords, or the authority whose certificates bear users' names: one of them. */
      passwordsFile: secretFile.optional(),
      clientsCaFile: secretFile.optional(),
    }),
    z.strictObject({
      url: z.string().min(1).max(500),
      username: z.string().min(1).max(200).optional(),
      passwordFile: secretFile.optional(),
      caFile: secretFile.optional(),
      certificateFile: secretFile.optional(),
      keyFile: secretFile.optional(),
    }),
  ]),
  uplink: z.strictObject({ influx }).optional(),
  shifts: z.array(shiftSchema).max(20).optional(),
  tell: tellSchema.optional(),
  /** How long the box itself keeps readings: of points in a zone, and of all others [d]. */
  keep: z
    .strictObject({
      zoneReadingsD: z.number().int().min(30).max(10_000).default(400),
      otherReadingsD: z.number().int().min(30).max(10_000).default(100),
      /** Documents of a lot, from its newest entry on [years]; a legal hold keeps them longer. */
      lotFilesY: z.number().int().min(1).max(100).default(usualLotFileYears),
    })
    .optional(),
  /** Asked for while all is well; who watches there calls somebody when it stops. */
  heartbeat: z
    .strictObject({
      urlFile: secretFile,
      everyS: z.number().int().min(10).max(3600).default(60),
    })
    .optional(),
  /** The plant's own sign-in service (OpenID Connect), where it has one. */
  signOn: z
    .strictObject({
      name: title,
      issuer: z.url({ protocol: /^https?$/ }).max(500),
      clientId: z.string().min(1).max(200),
      secretFile: secretFile.optional(),
    })
    .optional(),
  stations: z.array(stationSchema).min(1).max(1000),
  sensors: z.array(sensorSchema).max(20_000).default([]),
  points: z.array(pointSchema).max(20_000).default([]),
  instruments: z.array(instrumentSchema).max(20_000).default([]),
  fitted: z.array(fittedSchema).max(100_000).default([]),
});

/** `plant.yaml` as written. */
export type PlantFile = z.infer<typeof plantSchema>;
export type InfluxAddress = z.infer<typeof influx>;
export type OtherSignal = (typeof otherSignals)[number];
export type StationFile = z.infer<typeof stationSchema>;
export type StationKind = StationFile['kind'];
export type Heating = StationFile['heating'];
export type PlausibleTemperature = z.infer<typeof plausibleTemperature>;
export type PlausibleOther = z.infer<typeof plausibleOther>;
export type SensorFile = z.infer<typeof sensorSchema>;
export type Calibration = z.infer<typeof calibrationSchema>;
export type Instrument = z.infer<typeof instrumentSchema>;
export type Fitted = z.infer<typeof fittedSchema>;

/** A point with what is fitted there now, its topic and station resolved. */
export interface Sensor extends Omit<SensorFile, 'topic' | 'station'> {
  topic: string;
  /** The station it belongs to; null where no zone and no `station` says so. */
  station: string | null;
}
