import type { Thermal } from '../heat/wood.ts';
import type {
  Heating,
  InfluxAddress,
  Instrument,
  PlantFile,
  PlausibleTemperature,
  Sensor,
  StationKind,
} from './plant-schema.ts';

import type { Shift, Tell } from './tell-schema.ts';

/** A part of a station with its own points, in plant order. */
export interface Zone {
  id: string;
  /** The opening it belongs to; null where the station has no openings. */
  opening: string | null;
  upper: string | null;
  lower: string | null;
  air: string | null;
  /** On a belt, from where a part comes on [m]. */
  fromM?: number;
  toM?: number;
}

/** A station with its zones laid out, whichever way the file wrote them. */
export interface Station {
  id: string;
  title: string;
  /** Where it stands; null where the plant names no halls. */
  hall: string | null;
  kind: StationKind;
  heating: Heating;
  maxHeatingKPerMin: number;
  maxCoolingKPerMin: number;
  loadingDropKPerMin: number | null;
  supplyMaxC: number;
  surroundingsMinC: number;
  readyC: number | null;
  /** Points that show when it is closed. */
  closedBy: { pressure: string | null; limitSwitch: string | null; door: string | null };
  /** Between a point with a depth and the face it is under. */
  platenMetal: Thermal;
  /** Conveyor oven: the point of its belt's speed. */
  beltSpeed?: string;
  zones: Zone[];
}

/** The plant as everything past the parser sees it. */
export interface Plant {
  site: {
    id: string;
    title: string;
    timeZone: string;
    demo: boolean;
    reading: 'open' | 'signed-in';
    namesKeptD: number;
  };
  broker: PlantFile['broker'];
  /** Where readings go for the long run; absent where the journal is all there is. */
  uplink?: { influx: InfluxAddress };
  /** By the plant's own clock. */
  shifts?: Shift[];
  /** Who is told of calls away from the screens. */
  tell?: Tell;
  /** How long readings [d] and lots' documents [years] are kept; absent: as long as by default. */
  keep?: { zoneReadingsD: number; otherReadingsD: number; lotFilesY: number };
  /** Where it is told that all is well; the address is a secret. */
  heartbeat?: { urlFile: string; everyS: number };
  /** The plant's own sign-in service; the secret's file is named from the plant file's folder. */
  signOn?: { name: string; issuer: string; clientId: string; secretFile?: string | undefined };
  stations: Station[];
  /** Every point, whichever way the file wrote it, by its id. */
  sensors: Map<string, Sensor>;
  instruments: Map<string, Instrument>;
  /** By time. */
  fitted: FittedThen[];
  /** Days after its due date on which a certificate still counts, with a doubt that grows. */
  graceDays: number;
}

/** A `fitted` entry with its times. */
export interface FittedThen {
  point: string;
  instrument: string;
  fromMs: number;
  /** Null: it still is. */
  toMs: number | null;
  wireProven?: { at: string; by: string };
}

/** A point that measures temperature: only such points can stand in a zone. */
export type TemperatureSensor = Sensor & { plausible: PlausibleTemperature };

export function measuresTemperature(sensor: Sensor): sensor is TemperatureSensor {
  return 'minC' in sensor.plausible;
}
