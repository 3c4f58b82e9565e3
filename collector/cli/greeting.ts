import type { Judgement } from '@setwell/shared-models/api/collector';
import { cureBarText } from '@setwell/shared-models/api/cure-bar-text';
import { minutesDown, minutesUp, verdictToken } from '@setwell/shared-models/api/floor';
import type { Plant, Station } from '@setwell/shared-models/plant/plant';
import { namedLoad } from '../advice/station-advice.ts';
import { localTime } from '../export/local-time.ts';

export interface Greeting {
  version: string;
  plant: Plant;
  rate: number;
  pageUrl: string;
  /** Other machines may reach the pages, once somebody may administer. */
  reached: boolean;
  broker: { url: string; connected: boolean; faults: string[] };
  judgements: Judgement[];
  /** All that was recorded before has been looked at. */
  isJudged: boolean;
  nowMs: number;
}

/** What a start says: where the pages are, how each station stands, how to be heard. */
export function greeting(greeted: Greeting): string {
  const { version, plant, rate, pageUrl } = greeted;
  const { demo, id } = plant.site;
  const clock = demo ? ` · demo clock ×${String(rate)}, marked on every page and print` : '';
  const lines = [`Setwell ${version} · ${demo ? 'demo plant' : 'plant'} "${id}"${clock}`];
  const by = greeted.reached ? 'once somebody may administer' : 'only this machine can reach it';
  lines.push(row('Floor', `${pageUrl.padEnd(33)} ${by}`));
  if (demo) {
    const jobs = 'shift lead · maintenance · engineer · auditor · administrator';
    lines.push(row('look as', `${jobs}   (demo only, no password)`));
  }
  plant.stations.forEach((station, index) => {
    lines.push(row(index === 0 ? 'right now' : '', stationLine(station, greeted)));
  });
  const { broker } = greeted;
  if (!broker.connected) {
    const why = broker.faults.join(', ') || 'no answer yet';
    lines.push(
      row('broker', `${broker.url}: not connected (${why}); it is tried again every second`),
    );
  }
  const publish = publishLine(greeted);
  if (publish) lines.push(row('be heard', publish), row('', `appears at ${pageUrl}/sensors`));
  if (demo) lines.push(row('connect yours', 'npm start -- --plant plant.yaml'));
  return lines.join('\n');
}

/**
 * What lets the first administrator in, once the pages wait for one.
 *
 * @param code null where this is no terminal: a log is no place for it, and the file is told instead
 */
export function firstPersonLine(pageUrl: string, file: string, code: string | null): string {
  const told =
    code === null ? `code in ${file}` : `code ${code.replaceAll(/(\d{3})(?=\d)/g, '$1 ')}`;
  return row('first person', `${pageUrl}/settings   ${told}, once, for the administrator`);
}

function row(name: string, text: string): string {
  return `  ${name.padEnd(16)} ${text}`;
}

function stationLine(station: Station, { judgements, isJudged, nowMs, plant }: Greeting): string {
  const name = station.id.padEnd(Math.max(...plant.stations.map(({ id }) => id.length)));
  const load = namedLoad(
    judgements.filter((judgement) => judgement.station === station.id),
    station.kind,
  );
  if (!load) return `${name} ${isJudged ? 'no load' : 'its record is still being read'}`;
  const [worst] = load.places;
  if (!worst || !load.window) return `${name} ${verdictToken(load)}`;
  const bar = cureBarText(worst, load.window);
  const place = worst.glueLine === null ? worst.zone : `${worst.zone}/${String(worst.glueLine)}`;
  const minutes = minutesOf(load, nowMs, plant.site.timeZone);
  return `${name} ${verdictToken(load).padEnd(9)} ${bar}  ${minutes}, ${place}`;
}

function minutesOf(
  { forecast, say, blindSinceMs }: Judgement,
  nowMs: number,
  zone: string,
): string {
  if (blindSinceMs !== null) return `blind ${String(minutesDown(nowMs - blindSinceMs))} min`;
  if (say === 'proven') {
    const { overAtMs = null } = forecast ?? {};
    return overAtMs === null ? 'no end' : `out by ${localTime(overAtMs, zone).slice(11, 16)}`;
  }
  if (say === 'wait' && forecast?.provenAtMs) {
    return `${lengthOf(minutesUp(forecast.provenAtMs - nowMs))} more`;
  }
  return say === 'too-long' ? 'past the most' : 'ask the engineer';
}

/** Racks count in hours, stores in days. */
function lengthOf(min: number): string {
  if (min < 120) return `${String(min)} min`;
  const hours = Math.ceil(min / 60);
  if (hours < 48) return `${String(hours)} h`;
  return `${String(Math.floor(hours / 24))} d ${String(hours % 24)} h`;
}

/** A line to copy: a reading that harms nothing, on a point outside the presses where there is one. */
function publishLine({ plant, broker }: Greeting): string | null {
  const sensors = [...plant.sensors.values()].filter(({ signal }) => signal === 'celsius');
  const calm = new Set(
    plant.stations.filter(({ kind }) => kind !== 'press' && kind !== 'oven').map(({ id }) => id),
  );
  const sensor = sensors.find(({ station }) => station !== null && calm.has(station)) ?? sensors[0];
  if (!sensor) return null;
  const { hostname, port } = new URL(broker.url);
  return `mosquitto_pub -h ${hostname} -p ${port || '1883'} -q 1 -t ${sensor.topic} -m 20.5`;
}
