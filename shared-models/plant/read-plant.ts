import { metalThermal } from '../heat/materials.ts';
import type { Thermal } from '../heat/wood.ts';
import type { Read } from './finding.ts';
import { instantMs } from './instant.ts';
import { readYaml } from './located-yaml.ts';
import { tellPlant } from './plant-findings.ts';
import {
  type Calibration,
  type Fitted,
  type PlantFile,
  plantSchema,
  type Sensor,
  type StationFile,
} from './plant-schema.ts';
import type { FittedThen, Plant } from './plant.ts';
import { readShape } from './schema-findings.ts';
import { zonesOf } from './station-zones.ts';
import { tellingInto } from './tell.ts';

/** 20,000 points of 400 characters. */
const mostLength = 16 * 1024 * 1024;

/**
 * `plant.yaml`, or every place where it is not one.
 *
 * @param file its name, for the findings
 */
export function readPlant(text: string, file: string): Read<Plant> {
  const yaml = readYaml(text, file, mostLength);
  if (!yaml.ok) return yaml;
  const shape = readShape(yaml.value, plantSchema);
  if (!shape.ok) return shape;
  const told = tellingInto(yaml.value, shape.value, (tell) => tellPlant(shape.value, tell));
  return told.ok ? { ...told, value: plantOf(told.value) } : told;
}

function plantOf(plant: PlantFile): Plant {
  const { site, broker, uplink, shifts, tell, keep, heartbeat, signOn } = plant;
  return {
    site: {
      id: site.id,
      title: site.title ?? site.id,
      timeZone: site.timeZone,
      demo: site.demo ?? false,
      reading: site.reading,
      namesKeptD: site.namesKeptD,
    },
    broker,
    ...(uplink === undefined ? {} : { uplink }),
    ...(shifts === undefined ? {} : { shifts }),
    ...(tell === undefined ? {} : { tell }),
    ...(keep === undefined ? {} : { keep }),
    ...(heartbeat === undefined ? {} : { heartbeat }),
    ...(signOn === undefined ? {} : { signOn }),
    stations: plant.stations.map((station) => ({
      id: station.id,
      title: station.title ?? station.id,
      hall: station.hall ?? null,
      kind: station.kind,
      heating: station.heating,
      maxHeatingKPerMin: station.maxHeatingKPerMin,
      maxCoolingKPerMin: station.maxCoolingKPerMin,
      loadingDropKPerMin: station.loadingDropKPerMin ?? null,
      supplyMaxC: station.supplyMaxC,
      surroundingsMinC: station.surroundingsMinC,
      readyC: station.readyC ?? null,
      closedBy: {
        pressure: station.closedBy?.pressure ?? null,
        limitSwitch: station.closedBy?.limitSwitch ?? null,
        door: station.closedBy?.door ?? null,
      },
      platenMetal: metalOf(station.platenMetal),
      ...(station.beltSpeed === undefined ? {} : { beltSpeed: station.beltSpeed }),
      zones: zonesOf(station),
    })),
    sensors: new Map(sensorsOf(plant).map((sensor) => [sensor.id, sensor])),
    instruments: new Map(plant.instruments.map((instrument) => [instrument.id, instrument])),
    fitted: plant.fitted.map(fittedThen).sort((a, b) => a.fromMs - b.fromMs),
    graceDays: site.graceDays,
  };
}

function fittedThen({ from, to, ...fitted }: Fitted): FittedThen {
  const { point, instrument, wireProven } = fitted;
  return {
    point,
    instrument,
    // The file's shape lets no other text through.
    fromMs: instantMs(from) ?? NaN,
    toMs: to === undefined ? null : instantMs(to),
    ...(wireProven === undefined ? {} : { wireProven }),
  };
}

function metalOf(metal: StationFile['platenMetal']): Thermal {
  return typeof metal === 'object' ? metal : metalThermal(metal ?? 'steel');
}

/** Every point with its topic, its station and what is fitted there last. */
export function sensorsOf(plant: PlantFile): Sensor[] {
  const stationOf = new Map<string, string>();
  for (const station of plant.stations) {
    if (station.beltSpeed !== undefined) stationOf.set(station.beltSpeed, station.id);
    for (const { upper, lower, air } of zonesOf(station)) {
      for (const point of [upper, lower, air]) if (point !== null) stationOf.set(point, station.id);
    }
  }
  const instruments = new Map(plant.instruments.map((instrument) => [instrument.id, instrument]));
  const lasting = plant.fitted.filter(({ to }) => to === undefined);
  const fittedLast = new Map(lasting.map((fitted) => [fitted.point, fitted]));
  const points = plant.points.map((point) => {
    const newest = fittedLast.get(point.id);
    const instrument = newest === undefined ? undefined : instruments.get(newest.instrument);
    const calibration = newestCalibration(instrument?.calibrations ?? []);
    return {
      ...point,
      ...(instrument?.element === undefined ? {} : { element: instrument.element }),
      ...(calibration === undefined ? {} : { calibration }),
    };
  });
  return [...plant.sensors, ...points].map((sensor) => {
    const station = stationOf.get(sensor.id) ?? sensor.station ?? null;
    return { ...sensor, station, topic: sensor.topic ?? `plant/${station}/${sensor.id}` };
  });
}

function newestCalibration(calibrations: Calibration[]): Sensor['calibration'] {
  const newest = calibrations.reduce<Calibration | undefined>(
    (best, next) => (best === undefined || next.date >= best.date ? next : best),
    undefined,
  );
  if (newest === undefined) return undefined;
  const { certificate, date, due, k, points } = newest;
  return { certificate, date, due, k, points };
}
