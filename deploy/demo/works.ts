import { atClock, dayOf, firstRecordMs, hourMs, minuteMs } from './calendar.ts';
import { Press } from './press.ts';
import { pressOne, pressTwo, setC } from './presses.ts';
import { hallC } from './rooms.ts';
import { loadsOfDay, type Entered, type PlannedLoad } from './schedule.ts';
import { instruments, type Instrument } from './instruments.ts';

export interface WorksReading {
  kind: 'reading';
  station: string;
  point: string;
  t: number;
  v: number;
}

export interface WorksEvent {
  kind: 'event';
  station: string;
  t: number;
  event: 'coat' | 'load-start' | 'pressure-on' | 'release-start' | 'load-end' | Entered['event'];
  /** What a person enters with it. */
  of?: object;
  load: PlannedLoad;
}

export type Happening = WorksReading | WorksEvent;

export interface WorksSetting {
  seed: number;
  startMs: number;
  /** Presses are read so often: every second, or more coarsely for a history [s]. */
  pressEveryS: number;
}

/** Longest a load lasts: that far back a plan may still be running. */
const longestLoadDays = 15;

/** Heat has been off for long enough by then, and is not on yet [h]. */
const coldH = 4;

/** Ram closed, pressure not yet on; pressure let off in steps, ram not yet open. */
const contactToPressureMs = 22_000;
const releaseMs = 35_000;
/** Liquid glue's steam is let out slowly. */
const releaseWetMs = 180_000;

/** From the spray booth to the belt: the coat flashes off. */
const boothToBeltMs = 14 * minuteMs;

/**
 * The demo works, from one moment to the next: what really happens in it, and what its instruments say.
 *
 * It follows from the seed and from the time alone, so that a demo can be left and taken up again.
 */
export class Works {
  #setting: WorksSetting;
  readonly #presses: Press[];
  #instruments: Instrument[];
  #nowMs: number;
  #planned: WorksEvent[] = [];
  #plannedDay: number;

  constructor(setting: WorksSetting) {
    this.#setting = setting;
    this.#nowMs = setting.startMs;
    this.#plannedDay = dayOf(setting.startMs) - 1;
    this.#presses = [pressOne, pressTwo].map(
      (nature) => new Press(nature, hallC(setting.startMs), setting.seed),
    );
    this.#instruments = instruments(this.#presses, setting);
  }

  /**
   * The works as they stand at a moment, without having told anybody what came before.
   *
   * Steel and boards forget a night: what stands then follows from the last cold morning.
   */
  static at(ms: number, setting: Omit<WorksSetting, 'startMs'>): Works {
    const morning = atClock(dayOf(ms - coldH * hourMs), coldH);
    const works = new Works({ ...setting, startMs: morning, pressEveryS: 10 });
    works.advance(Math.floor(ms / 10_000) * 10_000, () => {});
    works.#setting = { ...setting, startMs: morning };
    works.#instruments = instruments(works.#presses, setting);
    works.advance(ms, () => {});
    return works;
  }

  get nowMs(): number {
    return this.#nowMs;
  }

  /** Whole seconds only: instruments sample on the second. */
  advance(untilMs: number, tell: (happening: Happening) => void): void {
    const toMs = Math.floor(untilMs / 1000) * 1000;
    const { pressEveryS } = this.#setting;
    while (this.#nowMs < toMs) {
      const stepMs = Math.min(pressEveryS * 1000, toMs - this.#nowMs);
      this.#nowMs += stepMs;
      const roomC = hallC(this.#nowMs);
      for (const press of this.#presses)
        press.advance(stepMs / 1000, setC(press.nature, this.#nowMs), roomC);
      for (const event of this.#due()) {
        this.#carryOut(event, roomC);
        if (event.load.unnamed !== true) tell(event);
      }
      for (const instrument of this.#instruments) {
        const v = instrument.read(this.#nowMs);
        if (v !== null)
          tell({
            kind: 'reading',
            station: instrument.station,
            point: instrument.point,
            t: this.#nowMs,
            v,
          });
      }
    }
  }

  #due(): WorksEvent[] {
    while (this.#plannedDay < dayOf(this.#nowMs)) {
      this.#plannedDay += 1;
      this.#planned.push(...loadsOfDay(this.#plannedDay, this.#setting.seed).flatMap(eventsOf));
      this.#planned.sort((a, b) => a.t - b.t);
    }
    const later = this.#planned.findIndex(({ t }) => t > this.#nowMs);
    return this.#planned.splice(0, later === -1 ? this.#planned.length : later);
  }

  #carryOut({ event, load }: WorksEvent, roomC: number): void {
    const press = this.#presses.find(({ nature }) => nature.station === load.station);
    if (event === 'load-start') press?.close(load, roomC);
    if (event === 'load-end') press?.open(load.load);
  }
}

/**
 * What was said of the loads that run at a moment, and of those that ended in the two hours before:
 * a controller says it again when it has been away, and saying it twice does no harm.
 */
export function eventsBefore(ms: number, seed: number): WorksEvent[] {
  const today = dayOf(ms);
  return (
    Array.from({ length: longestLoadDays + 1 }, (_, i) => today - longestLoadDays + i)
      .flatMap((day) => loadsOfDay(day, seed))
      .filter(({ unnamed }) => unnamed !== true)
      // Of what began before the first record there are no readings.
      .filter(({ startMs }) => startMs >= firstRecordMs && startMs <= ms)
      .filter(({ endMs }) => endMs > ms - 2 * hourMs)
      .flatMap(eventsOf)
      .filter(({ t }) => t <= ms && t > ms - 14 * 24 * hourMs + minuteMs)
      .sort((a, b) => a.t - b.t)
  );
}

/** What is said of a load, by time. */
export function eventsOf(load: PlannedLoad): WorksEvent[] {
  const at = (event: WorksEvent['event'], t: number): WorksEvent => ({
    kind: 'event',
    station: load.station,
    t,
    event,
    load,
  });
  const marks = load.station.startsWith('press')
    ? [
        at('pressure-on', load.startMs + contactToPressureMs),
        at('release-start', load.endMs - (load.recipe.endsWith('wet') ? releaseWetMs : releaseMs)),
      ]
    : [];
  const entered = (load.entered ?? []).map(({ event, afterMin, of }) => ({
    ...at(event, load.startMs + afterMin * minuteMs),
    of,
  }));
  const coat = load.station === 'oven-1' ? [at('coat', load.startMs - boothToBeltMs)] : [];
  return [
    ...coat,
    at('load-start', load.startMs),
    ...marks,
    at('load-end', load.endMs),
    ...entered,
  ];
}
