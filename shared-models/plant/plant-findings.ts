import { instantMs } from './instant.ts';
import type { FindingDetails, Path } from './located-yaml.ts';
import { nearestName } from './nearest-name.ts';
import {
  type Fitted,
  type PlantFile,
  type StationFile,
  temperatureSignals,
} from './plant-schema.ts';
import { tellCalibrations, tellElement, tellSensor } from './sensor-findings.ts';
import { tellStation } from './station-findings.ts';
import { type Tell, tellTwiceIn, twice } from './tell.ts';

/** What the shape alone cannot see: names that meet nothing, numbers that contradict each other. */
export function tellPlant(plant: PlantFile, tell: Tell): void {
  tellBroker(plant, tell);
  tellUplink(plant, tell);
  tellTwice(plant, tell);
  const allKnown = tellPoints(plant, tell);
  tellTopics(plant, allKnown, tell);
  tellFitted(plant, tell);
  plant.stations.forEach((station, index) => tellStation(station, ['stations', index], tell));
  plant.sensors.forEach((sensor, index) => {
    tellSensor(sensor, ['sensors', index], tell);
    tellElement(sensor, ['sensors', index], tell);
  });
  plant.points.forEach((point, index) => tellSensor(point, ['points', index], tell));
  plant.instruments.forEach(({ calibrations }, index) => {
    tellCalibrations(calibrations, ['instruments', index, 'calibrations'], tell);
  });
}

function tellBroker({ broker }: PlantFile, tell: Tell): void {
  if ('builtIn' in broker) {
    tellBuiltIn(broker, tell);
    return;
  }
  // The address itself is not repeated: it may hold a password.
  if (/^[^/]*\/\/[^/@:]*:[^/@]*@/.test(broker.url)) {
    tell(['broker', 'url'], {
      code: 'secret-in-address',
      found: 'a password in the address',
      expected: 'username and passwordFile beside it',
    });
  } else if (!/^(mqtts?|wss?):\/\/[^\s/:@]+(:\d{1,5})?(\/\S*)?$/.test(broker.url)) {
    tell(['broker', 'url'], {
      code: 'wrong-form',
      found: JSON.stringify(broker.url.slice(0, 60)),
      expected: 'an address such as mqtt://127.0.0.1:1883',
    });
  }
}

/** What a network reaches has a certificate, and knows who speaks. */
function tellBuiltIn(broker: Extract<PlantFile['broker'], { builtIn: true }>, tell: Tell): void {
  const { address, certificateFile, keyFile, passwordsFile, clientsCaFile } = broker;
  const isWhole =
    certificateFile !== undefined &&
    keyFile !== undefined &&
    (passwordsFile === undefined) !== (clientsCaFile === undefined);
  const named = [address, certificateFile, keyFile, passwordsFile, clientsCaFile];
  if (isWhole || named.every((one) => one === undefined)) return;
  tell(['broker'], {
    code: 'half-open',
    found: `a built-in broker with ${Object.keys(broker).join(', ')}`,
    expected:
      'for a network: certificateFile, keyFile, and either passwordsFile or clientsCaFile; for this machine alone: none of them and no address',
  });
}

function tellUplink({ uplink }: PlantFile, tell: Tell): void {
  if (uplink === undefined) return;
  const path = ['uplink', 'influx', 'url'];
  const { influx } = uplink;
  // As for the broker: what may hold a secret is not repeated.
  if (/[@?#]/.test(influx.url)) {
    tell(path, {
      code: 'secret-in-address',
      found: 'a user, a query or a fragment in the address',
      expected: 'the bare address, and the secret in a file named beside it',
    });
  } else if (!/^https?:\/\/(\[[0-9a-f:.]+\]|[^\s/:[\]]+)(:\d{1,5})?(\/[^\s]*)?$/.test(influx.url)) {
    tell(path, {
      code: 'wrong-form',
      found: JSON.stringify(influx.url.slice(0, 60)),
      expected: 'an address such as http://127.0.0.1:8086',
    });
  }
  if (
    influx.version === 1 &&
    (influx.username === undefined) !== (influx.passwordFile === undefined)
  ) {
    tell(['uplink', 'influx'], {
      code: 'missing-key',
      found: influx.username === undefined ? 'a passwordFile alone' : 'a username alone',
      expected: 'username and passwordFile together, or neither',
    });
  }
}

function tellTwice(plant: PlantFile, tell: Tell): void {
  const points = new Map<string, string>();
  for (const list of ['sensors', 'points'] as const) {
    plant[list].forEach(({ id }, index) => {
      const before = points.get(id);
      if (before !== undefined)
        tell([list, index, 'id'], twice(id, `the point ${id} of ${before}`));
      points.set(id, `${list}[${index}]`);
      if (id === 'event' || id === 'advice') {
        tell([list, index, 'id'], {
          code: 'reserved-name',
          found: JSON.stringify(id),
          expected: 'another name: that topic carries what happens at a station',
        });
      }
    });
  }
  tellTwiceIn(plant.stations, ['stations'], tell);
  tellTwiceIn(plant.instruments, ['instruments'], tell);
}

/** Every place where a station names a point. */
export function pointsNamedBy(station: StationFile): { path: Path; point: string }[] {
  const inZones = (station.zones ?? []).flatMap((zone, index) =>
    (['upper', 'lower', 'air'] as const).flatMap((face) => {
      const point = zone[face];
      return point === undefined ? [] : [{ path: ['zones', index, face], point }];
    }),
  );
  const inPlatens = (station.platens ?? []).flatMap((platen, index) =>
    'point' in platen
      ? [{ path: ['platens', index, 'point'], point: platen.point }]
      : platen.zones.map(({ point }, nth) => ({
          path: ['platens', index, 'zones', nth, 'point'],
          point,
        })),
  );
  return [...inZones, ...inPlatens];
}

/** Every place where a station names a point of another signal than temperature. */
function signalsNamedBy({ closedBy, beltSpeed }: StationFile) {
  const named: { path: Path; point: string | undefined; wanted: string }[] = [
    { path: ['closedBy', 'pressure'], point: closedBy?.pressure, wanted: 'bar' },
    { path: ['closedBy', 'limitSwitch'], point: closedBy?.limitSwitch, wanted: 'switch' },
    { path: ['closedBy', 'door'], point: closedBy?.door, wanted: 'switch' },
    { path: ['beltSpeed'], point: beltSpeed, wanted: 'metre-per-minute' },
  ];
  return named.flatMap(({ point, ...rest }) => (point === undefined ? [] : [{ ...rest, point }]));
}

/** Whether every point that is named exists. */
function tellPoints(plant: PlantFile, tell: Tell): boolean {
  let allKnown = true;
  const places = [...plant.sensors, ...plant.points];
  const known = new Map(places.map((place) => [place.id, place]));
  const stations = plant.stations.map(({ id }) => id);
  plant.stations.forEach((station, index) => {
    for (const { path, point } of pointsNamedBy(station)) {
      const place = known.get(point);
      if (place === undefined) {
        allKnown = false;
        tell(['stations', index, ...path], unknownName('point', point, known.keys()));
      } else if (path.at(-1) === 'air' && (place.depthMm ?? 0) > 0) {
        tell(['stations', index, ...path], {
          code: 'contradiction',
          found: `${JSON.stringify(point)}, which is ${place.depthMm} mm deep, as air`,
          expected: 'a point without depthMm: there is no metal before the air',
        });
      } else if (!(temperatureSignals as readonly string[]).includes(place.signal)) {
        tell(['stations', index, ...path], {
          code: 'no-temperature',
          found: `${JSON.stringify(point)}, which measures ${place.signal}`,
          expected: 'a point that measures temperature',
        });
      }
    }
    for (const { path: own, point, wanted } of signalsNamedBy(station)) {
      const signal = known.get(point)?.signal;
      const path = ['stations', index, ...own];
      if (signal === undefined) tell(path, unknownName('point', point, known.keys()));
      else if (signal !== wanted) {
        tell(path, {
          code: 'other-signal',
          found: `${JSON.stringify(point)}, which measures ${signal}`,
          expected: `a point with the signal ${wanted}`,
        });
      }
    }
  });
  for (const list of ['sensors', 'points'] as const) {
    plant[list].forEach(({ station }, index) => {
      if (station === undefined || stations.includes(station)) return;
      tell([list, index, 'station'], unknownName('station', station, stations));
    });
  }
  return allKnown;
}

function unknownName(kind: string, name: string, known: Iterable<string>): FindingDetails {
  const names = [...known];
  const listed = names.length > 12 ? `${names.slice(0, 12).join(', ')}, …` : names.join(', ');
  return {
    code: `unknown-${kind}`,
    found: JSON.stringify(name),
    expected: names.length > 0 ? `a ${kind} of this file: ${listed}` : `a ${kind} of this file`,
    nearest: nearestName(name, names),
  };
}

function tellTopics(plant: PlantFile, allKnown: boolean, tell: Tell): void {
  const used = new Map<string, string>();
  const named = new Map<string, string>();
  for (const station of plant.stations) {
    for (const { point } of pointsNamedBy(station)) named.set(point, station.id);
    if (station.beltSpeed !== undefined) named.set(station.beltSpeed, station.id);
  }
  for (const list of ['sensors', 'points'] as const) {
    plant[list].forEach((place, index) => {
      const station = named.get(place.id) ?? place.station;
      const topic = place.topic ?? (station && `plant/${station}/${place.id}`);
      const path = [list, index, ...(place.topic === undefined ? [] : ['topic'])];
      if (!topic) {
        // A name misspelt in a zone leaves its point without one: told there already.
        if (!allKnown) return;
        tell(path, {
          code: 'no-topic',
          found: `${JSON.stringify(place.id)} in no zone, without topic or station`,
          expected: 'a zone that names it, or its topic, or its station',
        });
        return;
      }
      tellTopic(topic, path, tell);
      const before = used.get(topic);
      if (before !== undefined) {
        tell(path, {
          code: 'topic-twice',
          found: `the topic ${topic} of ${before} again`,
          expected: 'a topic of its own',
        });
      }
      used.set(topic, place.id);
    });
  }
}

function tellTopic(topic: string, path: Path, tell: Tell): void {
  const found = JSON.stringify(topic.slice(0, 60));
  if (/[+#\0]/.test(topic)) {
    tell(path, { code: 'wrong-form', found, expected: 'one topic, without + and #' });
  } else if (topic.startsWith('setwell/') || topic.startsWith('$')) {
    tell(path, { code: 'reserved-name', found, expected: 'a topic outside setwell/ and $' });
  } else if (/^plant\/[^/]+\/(event|advice)$/.test(topic)) {
    tell(path, {
      code: 'reserved-name',
      found,
      expected: "a topic that carries no station's events",
    });
  }
}

function tellFitted(plant: PlantFile, tell: Tell): void {
  const points = new Set(plant.points.map(({ id }) => id));
  const instruments = new Set(plant.instruments.map(({ id }) => id));
  // Entries above, by what they name: a plant has thousands.
  const above = new Map<string, Fitted[]>();
  plant.fitted.forEach((fitted, index) => {
    const { point, instrument, from, to } = fitted;
    const path = ['fitted', index];
    if (!points.has(point)) tell([...path, 'point'], unknownName('point', point, [...points]));
    if (!instruments.has(instrument)) {
      tell([...path, 'instrument'], unknownName('instrument', instrument, [...instruments]));
    }
    const [fromMs, toMs] = [instantMs(from) ?? NaN, msOrEver(to)];
    if (toMs <= fromMs) {
      tell([...path, 'to'], {
        code: 'descending',
        found: to ?? '',
        expected: `a time after ${from}`,
      });
    }
    const named = [`point ${point}`, `instrument ${instrument}`];
    const overlapping = named
      .flatMap((name) => above.get(name) ?? [])
      .find((before) => msOrEver(before.to) > fromMs && (instantMs(before.from) ?? NaN) < toMs);
    if (overlapping !== undefined) {
      tell(path, {
        code: 'fitted-twice',
        found: `${instrument} at ${point} from ${from}`,
        expected: `a time after ${overlapping.instrument} left ${overlapping.point}`,
      });
    }
    for (const name of named) {
      const own = above.get(name) ?? [];
      above.set(name, own);
      own.push(fitted);
    }
  });
}

/** An entry without an end goes on. */
function msOrEver(to: string | undefined): number {
  return to === undefined ? Infinity : (instantMs(to) ?? NaN);
}
