import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Sensor } from '@setwell/shared-models/plant/plant-schema';
import { SequenceWatch } from '../journal/sequence.ts';
import type { Reading } from '../journal/shape.ts';

/** A time in which a point has said nothing though it should have. */
export interface Gap {
  fromMs: number;
  toMs: number;
}

/** A topic above it for a minute is told to somebody; nothing of it is dropped. */
const mostMessagesPerS = 20;
/** Gaps are told of the last day, and of one point at most so many. */
const keptGapMs = 86_400_000;
const mostGaps = 50;
/** Clients named with their conflicts, a point. */
const mostClients = 20;
const minuteMs = 60_000;

/** What is noticed of a point's messages beside their values; since the start of the process. */
export class PointTraffic {
  readonly topic: string;
  /** Messages that their publisher sent at QoS 0: they can be lost on each leg of the way. */
  atMostOnce = 0;
  /** Readings whose time was there with another value, by client where the bus knows it. */
  readonly conflicts = new Map<string, number>();
  readonly sequence = new SequenceWatch();
  /** Messages in the last whole minute. */
  perMin = 0;
  readonly #gapAfterMs: number;
  #newestMs: number | null;
  #gaps: Gap[] = [];
  #minute = 0;
  #messages = 0;
  /** Greatest of own time minus receipt: the one that was least on its way [ms]. */
  #offsetMs: { now: number | null; before: number | null } = { now: null, before: null };

  constructor(sensor: Sensor, newestMs: number | null) {
    this.topic = sensor.topic;
    this.#newestMs = newestMs;
    this.#gapAfterMs = gapAfterMs(sensor);
  }

  message(monotonicMs: number, atMostOnce: boolean): void {
    this.#turn(monotonicMs);
    this.#messages += 1;
    if (atMostOnce) this.atMostOnce += 1;
  }

  reading({ t, stamped, ahead, quality, deviceSeq }: Reading, receivedMs: number | null): void {
    if (receivedMs !== null && !stamped) {
      this.#offsetMs.now = Math.max(this.#offsetMs.now ?? -Infinity, t - receivedMs);
    }
    if (ahead) return;
    if (deviceSeq !== null) this.sequence.take({ t, deviceSeq });
    if (quality === 'good' || quality === 'late') this.#heard(t);
  }

  conflict(client: string): void {
    if (!this.conflicts.has(client) && this.conflicts.size >= mostClients) return;
    this.conflicts.set(client, (this.conflicts.get(client) ?? 0) + 1);
  }

  isFast(monotonicMs: number): boolean {
    this.#turn(monotonicMs);
    return this.perMin > mostMessagesPerS * 60;
  }

  /** How far its clock is before ours [ms], of the last minute or two; null where it has none. */
  get offsetMs(): number | null {
    return this.#offsetMs.now ?? this.#offsetMs.before;
  }

  /** Of the last day, oldest first; the one that still lasts is not among them. */
  gaps(nowMs: number): Gap[] {
    return this.#gaps.filter(({ toMs }) => toMs >= nowMs - keptGapMs);
  }

  #heard(t: number): void {
    const newestMs = this.#newestMs;
    if (newestMs === null || t > newestMs) {
      if (newestMs !== null) this.#add({ fromMs: newestMs, toMs: t });
      this.#newestMs = t;
      return;
    }
    const filled = this.#gaps.find(({ fromMs, toMs }) => fromMs < t && t < toMs);
    if (filled === undefined) return;
    this.#gaps = this.#gaps.filter((gap) => gap !== filled);
    this.#add({ fromMs: filled.fromMs, toMs: t });
    this.#add({ fromMs: t, toMs: filled.toMs });
    this.#gaps.sort((a, b) => a.fromMs - b.fromMs);
  }

  #add(gap: Gap): void {
    if (gap.toMs - gap.fromMs <= this.#gapAfterMs) return;
    this.#gaps.push(gap);
    if (this.#gaps.length > mostGaps) this.#gaps.shift();
  }

  #turn(monotonicMs: number): void {
    const minute = Math.floor(monotonicMs / minuteMs);
    if (minute === this.#minute) return;
    this.perMin = minute === this.#minute + 1 ? this.#messages : 0;
    this.#offsetMs = { now: null, before: this.#offsetMs.now };
    this.#minute = minute;
    this.#messages = 0;
  }
}

/** What is noticed of all points' messages. */
export class Traffic {
  readonly points: ReadonlyMap<string, PointTraffic>;

  /** @param newestMs of a point, in the journal */
  constructor(plant: Plant, newestMs: (point: string) => number | null) {
    this.points = new Map(
      [...plant.sensors].map(([id, sensor]) => [id, new PointTraffic(sensor, newestMs(id))]),
    );
  }

  /** Topics that have sent more than twenty messages a second for a minute. */
  fast(monotonicMs: number): string[] {
    return [...this.points.values()]
      .filter((point) => point.isFast(monotonicMs))
      .map(({ topic }) => topic);
  }
}

/** Three of its own intervals, and never less than ten seconds: what a slow gateway needs. */
function gapAfterMs({ report, everyS }: Sensor): number {
  const intervalS = report?.heartbeatS ?? everyS ?? 60;
  return Math.max(10, 3 * intervalS) * 1000;
}
