import type {
  CertificateNow,
  PointDetail,
  PointFitted,
  PointWorth,
} from '@setwell/shared-models/api/points';
import { uncertaintyBudget } from '@setwell/shared-models/metrology/budget';
import { calibrationInForce } from '@setwell/shared-models/metrology/calibration';
import { dayOfDate, dayOfMs } from '@setwell/shared-models/metrology/calendar-day';
import { dueState } from '@setwell/shared-models/metrology/drift';
import {
  calibrationsKnown,
  fittedAt,
  type Fitting,
} from '@setwell/shared-models/metrology/fitting';
import { doubtedReading } from '@setwell/shared-models/metrology/reading-doubts';
import { indicated, temperatureSignalOf } from '@setwell/shared-models/metrology/signal';
import { streamNoise } from '@setwell/shared-models/metrology/stream-noise';
import { toleranceOfElement } from '@setwell/shared-models/metrology/tolerance';
import { measuresTemperature, type Plant } from '@setwell/shared-models/plant/plant';
import type { Sensor } from '@setwell/shared-models/plant/plant-schema';
import type { JournalReader, Reading } from '../journal/shape.ts';
import type { Fittings } from '../judge/fittings.ts';

/** Readings of the last so long tell the noise [ms], at most so many of them. */
const noiseMs = 10 * 60_000;
const mostOfNoise = 600;
const mostFound = 50;
const usualResolutionK = 0.1;

/** What is known of the plant's points and instruments now, from file, ledger and journal. */
export class PointAccount {
  readonly #plant: Plant;
  readonly #fittings: Fittings;
  readonly #journal: JournalReader;

  constructor(plant: Plant, fittings: Fittings, journal: JournalReader) {
    this.#plant = plant;
    this.#fittings = fittings;
    this.#journal = journal;
  }

  all(nowMs: number): PointFitted[] {
    return [...this.#plant.sensors.values()].map((sensor) => this.#fitted(sensor, nowMs));
  }

  /** Null: no such point. */
  one(point: string, nowMs: number): PointDetail | null {
    const sensor = this.#plant.sensors.get(point);
    if (sensor === undefined) return null;
    const own = this.#fittings.of(this.#plant).get(point) ?? [];
    const last = this.#journal.lastReading(point);
    const fitting = fittedAt(own, nowMs);
    return {
      ...this.#fitted(sensor, nowMs),
      nowMs,
      last: last === null ? null : { t: last.t, v: last.v },
      worth: last === null ? null : this.#worth(sensor, fitting, last),
      history: [...own].reverse().map(({ instrument, made, fromMs, toMs }) => ({
        instrument: instrument.id,
        serial: instrument.serial ?? null,
        fromMs: Number.isFinite(fromMs) ? fromMs : null,
        toMs: Number.isFinite(toMs) ? toMs : null,
        certificates: [
          ...instrument.calibrations,
          ...made.map(({ calibration }) => calibration),
        ].map(({ certificate }) => certificate),
      })),
      found: [...(this.#fittings.acts.faults.get(point) ?? [])].reverse().slice(0, mostFound),
    };
  }

  #fitted(sensor: Sensor, nowMs: number): PointFitted {
    const { id, station, signal, role, topic, depthMm } = sensor;
    const { acts } = this.#fittings;
    const fitting = fittedAt(this.#fittings.of(this.#plant).get(id), nowMs);
    const standing = (acts.fallbacks.get(id) ?? []).filter(
      ({ fromMs, untilMs }) => nowMs >= fromMs && nowMs < untilMs,
    );
    return {
      point: id,
      station,
      signal,
      role,
      depthMm: depthMm ?? null,
      topic,
      fitted: fitting === null ? null : this.#instrumentNow(id, fitting, nowMs),
      withdrawn: acts.isWithdrawn(id, nowMs) ? (acts.withdrawn.get(id) ?? null) : null,
      fallback: standing.at(-1) ?? null,
      faults: acts.lasting(id),
    };
  }

  #instrumentNow(point: string, fitting: Fitting, nowMs: number): PointFitted['fitted'] {
    const { instrument, fromMs, proven } = fitting;
    const { element } = instrument;
    const provenMs = this.#fittings.acts.proven.get(point) ?? null;
    return {
      instrument: instrument.id,
      serial: instrument.serial ?? null,
      element:
        element === undefined
          ? null
          : [element.type, element.class, element.standard].filter(Boolean).join(' '),
      loop: instrument.loop ?? null,
      fromMs: Number.isFinite(fromMs) ? fromMs : null,
      provenMs,
      proven: proven || provenMs !== null,
      certificate: this.#certificate(fitting, nowMs),
    };
  }

  #certificate(fitting: Fitting, nowMs: number): CertificateNow | null {
    const day = dayOfMs(nowMs);
    const calibration = calibrationInForce(calibrationsKnown(fitting, nowMs), day);
    if (calibration === null) return null;
    const { certificate, date, due } = calibration;
    const { state } = dueState(calibration, day, this.#plant.graceDays);
    return { certificate, date, due, daysLeft: dayOfDate(due) - day, state };
  }

  #worth(sensor: Sensor, fitting: Fitting | null, last: Reading): PointWorth | null {
    if (!measuresTemperature(sensor)) return null;
    const element = fitting?.instrument.element;
    const from = temperatureSignalOf({ signal: sensor.signal, element });
    const shown = from === null ? null : indicated(last.v, from);
    if (from === null || shown === null || shown.kind === 'no-temperature') {
      return { kind: 'no-temperature', raw: last.v };
    }
    const recent = this.#journal.readings(sensor.id, last.t - noiseMs, last.t).readings;
    const shownC = recent.slice(-mostOfNoise).flatMap(({ v }) => {
      const each = indicated(v, from);
      return each.kind === 'indicated' ? [each.indicatedC] : [];
    });
    const place = this.#isOfZone(sensor) ? this.#fittings.places.at(sensor.station, last.t) : null;
    const worth = doubtedReading(shown, {
      day: dayOfMs(last.t),
      calibrations: fitting === null ? [] : calibrationsKnown(fitting, last.t),
      graceDays: this.#plant.graceDays,
      tolerance: element === undefined ? null : toleranceOfElement(element),
      resolutionK: sensor.resolutionK ?? usualResolutionK,
      seatK: 0,
      placeK: place?.placeK ?? 0,
      noise: streamNoise(shownC),
    });
    if (worth.kind === 'unproven') {
      return { kind: 'unproven', shownC: shown.indicatedC, because: worth.because };
    }
    const { rows, combinedK, expandedK, k, effectiveDegreesOfFreedom } = uncertaintyBudget(
      worth.doubts,
    );
    return {
      kind: 'bounded',
      shownC: shown.indicatedC,
      correctedC: worth.tempC,
      ...{ rows, combinedK, expandedK, k, effectiveDegreesOfFreedom, place },
    };
  }

  /** Only what stands for a zone has a place in one. */
  #isOfZone({ id, station: of }: Sensor): boolean {
    const station = this.#plant.stations.find((each) => each.id === of);
    return (station?.zones ?? []).some(({ upper, lower, air }) => [upper, lower, air].includes(id));
  }
}
