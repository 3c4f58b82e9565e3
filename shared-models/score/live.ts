import { Envelope, type FaceCourse } from './envelope.ts';
import { BeltCourse } from './belt.ts';
import { foldLoad, gapsIn, gridOfLoad, openZones, pointsOf, type LoadFold } from './fold.ts';
import { isOf, readingsFor, sourcesOf } from './fitted-span.ts';
import { gridTimeMs } from './grid.ts';
import { gridStartMs } from './marks.ts';
import { PointHistory, pointHistory } from './point-history.ts';
import { byPointOf, canonicalReadings, parseReadings, type RawReading } from './readings.ts';
import { resultOf } from './score.ts';
import type { ScoreInput, ScoreResult } from './shape.ts';
import { startPointsOf } from './start.ts';
import { planWeights } from './weigh.ts';
import { copyZone, facesAt, stepZone, type ZoneRuns } from './zone-runs.ts';

/** An open load's readings as they come, and what they say so far. */
export interface LiveScore {
  /** In any order, any number of times. */
  add(point: string, tMs: number, value: number): void;
  /** Equals `score` over the same set of readings, to the byte. */
  judge(asOfMs: number): ScoreResult;
  /** The runs behind the last verdict, for a forecast. */
  fold(asOfMs: number): LoadFold;
  /** The readings so far as canonical text. */
  readingsCsv(): string;
}

/** Runs up to the last grid step before which no reading is missing. */
interface Settled {
  steps: number;
  zones: (ZoneRuns | null)[];
}

/** What came of one point. */
interface Stream {
  newestMs: number;
  history: PointHistory;
}

/**
 * @param input the load as it began; while it is open its marks do not change
 */
export function openLive(input: ScoreInput): LiveScore {
  return new OpenLoad(input);
}

class OpenLoad implements LiveScore {
  private readonly input: ScoreInput;
  private readonly readings: RawReading[] = [];
  private readonly streams = new Map<string, Stream>();
  /** What they read of the start bears on every step. */
  private readonly startPoints: ReadonlySet<string>;
  /** Whose histories a point's readings go into: its own, and those of points it stood in for. */
  private readonly feeds = new Map<string, string[]>();
  private settled: Settled | null = null;
  /** A reading came late, twice or in conflict: the next look starts from the whole set. */
  private disturbed = false;

  constructor(opened: ScoreInput) {
    this.input = { ...opened, weights: opened.weights ?? planWeights(opened) };
    this.startPoints = new Set(
      startPointsOf(
        opened.recipe,
        opened.zones.map(({ id }) => id),
      ),
    );
    for (const [point, sensor] of Object.entries(opened.sensors)) {
      this.streams.set(point, { newestMs: -Infinity, history: new PointHistory(sensor) });
      for (const source of sourcesOf(point, sensor)) {
        this.feeds.set(source, [...(this.feeds.get(source) ?? []), point]);
      }
    }
    for (const [point, signal] of Object.entries(opened.signals ?? {})) {
      this.streams.set(point, { newestMs: -Infinity, history: new PointHistory(signal) });
      this.feeds.set(point, [point]);
    }
  }

  add(point: string, tMs: number, value: number): void {
    this.readings.push({ point, tMs, value });
    for (const fed of this.feeds.get(point) ?? []) {
      const stream = this.streams.get(fed);
      if (stream === undefined || !this.isFed(fed, point, tMs)) continue;
      if (tMs > stream.newestMs) {
        stream.newestMs = tMs;
        stream.history.take(tMs, value);
        if (tMs <= gridStartMs(this.input) && this.startPoints.has(fed)) this.settled = null;
      } else {
        this.disturbed = true;
        this.settled = null;
      }
    }
  }

  /** Temperature points with what was fitted there, signals as they are. */
  private isFed(fed: string, point: string, tMs: number): boolean {
    const sensor = this.input.sensors[fed];
    return sensor === undefined ? fed === point : isOf(fed, sensor, point, tMs);
  }

  judge(asOfMs: number): ScoreResult {
    return resultOf({ ...this.input, asOfMs }, this.fold(asOfMs));
  }

  fold(asOfMs: number): LoadFold {
    const input = { ...this.input, asOfMs };
    if (this.disturbed) this.restream();
    for (const { newestMs } of this.streams.values()) {
      // Readings ahead of the clock take no part yet.
      if (newestMs > asOfMs) return foldLoad(input, this.sorted());
    }
    const histories = new Map([...this.streams].map(([point, { history }]) => [point, history]));
    const grid = gridOfLoad(input);
    if (this.settled !== null && gridTimeMs(grid, this.settled.steps) > movedMs(this.settled)) {
      this.settled = null;
    }
    const settled = this.settled ?? opened(openZones(input, histories));
    const knownMs = this.knownMs() - reachMs(settled);
    while (grid.startMs + (settled.steps + 1) * grid.stepMs <= knownMs) {
      advance(settled.zones, gridTimeMs(grid, settled.steps), gridTimeMs(grid, settled.steps + 1));
      settled.steps += 1;
    }
    this.settled = settled.steps > 0 ? settled : null;
    const zones = settled.zones.map((zone) => (zone === null ? null : copyZone(zone)));
    for (let steps = settled.steps + 1; steps <= grid.steps; steps += 1) {
      advance(zones, gridTimeMs(grid, steps - 1), gridTimeMs(grid, steps));
    }
    return { grid, zones, histories, gaps: gapsIn(input, histories) };
  }

  readingsCsv(): string {
    return canonicalReadings(this.readings);
  }

  /** Up to when every face is known: after it a reading may still come between. */
  private knownMs(): number {
    let knownMs = Infinity;
    for (const point of pointsOf(this.input)) {
      const times = this.streams.get(point)?.history.timesMs;
      knownMs = Math.min(knownMs, times?.[times.length - 1] ?? -Infinity);
    }
    return knownMs;
  }

  private restream(): void {
    const byPoint = byPointOf(this.sorted());
    for (const [point, stream] of this.streams) {
      const sensor = this.input.sensors[point];
      const signal = this.input.signals?.[point];
      if (sensor !== undefined) {
        stream.history = pointHistory(readingsFor(point, sensor, byPoint), sensor, Infinity);
      } else if (signal !== undefined) {
        stream.history = pointHistory(byPoint.get(point) ?? [], signal, Infinity);
      }
    }
    this.disturbed = false;
  }

  private sorted(): RawReading[] {
    return parseReadings(canonicalReadings(this.readings));
  }
}

/** Zones before their first step: what their faces' first readings moved is in them already. */
function opened(zones: (ZoneRuns | null)[]): Settled {
  const settled = { steps: 0, zones };
  movedMs(settled);
  return settled;
}

/** Times after this have got other bounds by readings that came since [ms]. */
function movedMs({ zones }: Settled): number {
  return Math.min(...envelopesOf(zones).map((face) => face.movedSince()));
}

/** Of the newest readings so much is not settled yet: the next ones narrow what it may have been [ms]. */
function reachMs({ zones }: Settled): number {
  return Math.max(0, ...envelopesOf(zones).map((face) => face.reachMs));
}

function envelopesOf(zones: readonly (ZoneRuns | null)[]): Envelope[] {
  return zones
    .flatMap((zone) => (zone === null ? [] : [zone.upper, zone.lower]))
    .flatMap((face): FaceCourse[] => (face instanceof BeltCourse ? face.envelopes : [face]))
    .filter((face) => face instanceof Envelope);
}

/** Goes one step with every zone. */
function advance(zones: readonly (ZoneRuns | null)[], fromMs: number, toMs: number): void {
  for (const zone of zones) {
    if (zone !== null) stepZone(zone, fromMs, toMs, facesAt(zone, fromMs));
  }
}
