import type { Judgement } from '@setwell/shared-models/api/collector';
import type { Station } from '@setwell/shared-models/plant/plant';
import type { Clock } from '../clock.ts';
import type { JudgeStep } from '../judge/judge.ts';
import type { Collected, Part } from '../part.ts';
import { namedLoad, stationAdvice } from './station-advice.ts';

/** Each station is told again so often [ms of wall time]. */
const EVERY_MS = 5000;
/** A judge further behind than this says so [ms of wall time]. */
const LATE_AFTER_MS = 5000;
/** A judge so many times later than late has no advice at all. */
const SILENT_AFTER_LATES = 3;

type Publish = (topic: string, payload: string) => void;

/**
 * Publishes each station's advice, retained and at most once, every round and at each change.
 *
 * The first word after a start is `none` on every station; more follows only when the judge has
 * reached the journal's end, so that nobody is told of yesterday.
 */
export class Adviser implements Part {
  readonly #clock: Clock;
  readonly #collector: string;
  readonly #publish: Publish;
  readonly #everyMs: number;
  readonly #behindMs: () => number;
  readonly #lateAfterMs: number;
  readonly #stations: Station[];
  readonly #judgements = new Map<string, Judgement>();
  readonly #said = new Map<string, string>();
  #n = 0;
  #speaking = false;
  #cancel: (() => void) | null = null;

  constructor(collected: Collected) {
    const { rate } = collected.clockSetting;
    this.#stations = collected.plant.stations;
    this.#clock = collected.clock;
    this.#collector = collected.name;
    this.#publish = (topic, payload) => collected.publish(topic, payload);
    this.#everyMs = EVERY_MS * rate;
    this.#behindMs = () => collected.behindMs();
    this.#lateAfterMs = LATE_AFTER_MS * rate;
  }

  /** Says `none` everywhere, then again every round until stopped. */
  start(): void {
    this.#round();
  }

  /** The broker is back: whoever listens has heard nothing meanwhile. */
  connected(): void {
    if (this.#cancel === null) return;
    this.#cancel();
    this.#round();
  }

  stop(): void {
    this.#cancel?.();
    this.#cancel = null;
  }

  /** What the judge has found; having been at the journal's end allows to speak of loads from now on. */
  look({ judgements, reachedHead }: JudgeStep): void {
    for (const judgement of judgements) {
      if (judgement.state === 'open') this.#judgements.set(judgement.load, judgement);
      else this.#judgements.delete(judgement.load);
    }
    this.#speaking ||= reachedHead;
    if (!this.#speaking || this.#cancel === null) return;
    for (const station of this.#stations) this.#say(station, false);
  }

  #round(): void {
    for (const station of this.#stations) this.#say(station, true);
    this.#cancel = this.#clock.after(this.#everyMs, () => this.#round());
  }

  #say(station: Station, again: boolean): void {
    const behindMs = this.#behindMs();
    const late = behindMs > this.#lateAfterMs;
    // A judge that hangs must not be heard as fresh advice round after round.
    const named =
      this.#speaking && behindMs <= SILENT_AFTER_LATES * this.#lateAfterMs
        ? namedLoad(
            [...this.#judgements.values()].filter((each) => each.station === station.id),
            station.kind,
          )
        : null;
    const key = named
      ? `${named.load} ${named.say} ${named.verdict} ${String(named.side)} ${String(late)}`
      : 'none';
    if (!again && this.#said.get(station.id) === key) return;
    this.#said.set(station.id, key);
    const nowMs = this.#clock.nowMs();
    this.#n += 1;
    const parts = { collector: this.#collector, n: this.#n, nowMs, late };
    this.#publish(`setwell/${station.id}/advice`, JSON.stringify(stationAdvice(named, parts)));
  }
}
