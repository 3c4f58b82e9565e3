import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { SimulatedBroker, SimulatedBus } from './broker.ts';
import type { Chance } from './chance.ts';
import { Killed, LifeClock } from './life-clock.ts';
import { dayMin, minuteMs, startMs, writePlant, type Message } from './plant.ts';

/** The disk of the simulation is memory: what syncs cost and promise is tried with the real one. */
const place = existsSync('/dev/shm') ? '/dev/shm' : tmpdir();
/** After the day everything arrives, and every load has had its time to be sealed [min]. */
const afterwardsMin = 20;

/** Plant time per wall time: what is done every second of the wall is done every twelve of the day. */
const rate = 12;

/** What may go wrong in a minute, each with its probability or its extent; all zero: a quiet day. */
export interface Trouble {
  kill: number;
  cut: number;
  forget: number;
  pause: number;
  clock: number;
  disk: number;
}

export const noTrouble: Trouble = { kill: 0, cut: 0, forget: 0, pause: 0, clock: 0, disk: 0 };

/** A day of the collector: its world, its lives, and a look at it after each step. */
export class Day {
  readonly folder = mkdtempSync(join(place, 'setwell-day-'));
  readonly broker = new SimulatedBroker();
  readonly world = new SteppedClock(startMs);
  readonly lives: { killed: number } = { killed: 0 };
  collector!: Collector;
  readonly #plantFile = writePlant(this.folder);
  readonly #chance: Chance;
  readonly #trouble: Trouble;
  #clock!: LifeClock;
  #bus: SimulatedBus | null = null;
  #used = 0.5;
  #quietUntilMs = 0;
  #clockOffMs = 0;
  #pausedMin = 0;

  constructor(chance: Chance, trouble: Trouble) {
    this.#chance = chance;
    this.#trouble = trouble;
  }

  get dataDir(): string {
    return join(this.folder, 'data');
  }

  /** Lives through it. @param arrivals when each message reaches the broker; @param look after each step */
  async run(arrivals: { message: Message; atMs: number }[], look: () => void): Promise<void> {
    const due = [...arrivals].sort((a, b) => a.atMs - b.atMs);
    await this.#begin();
    for (let min = 0; min < dayMin; min += 1) {
      this.#stir();
      const untilMs = (min + 1) * minuteMs;
      await this.#passUntil(untilMs, look);
      while (due[0] && due[0].atMs <= startMs + untilMs) this.broker.take(due.shift()!.message);
      if (this.#pausedMin > 0) this.#pausedMin -= 1;
      else await this.#handOver(4, look);
    }
    this.#calm();
    for (const { message } of due) this.broker.take(message);
    while (this.broker.queue.length > 0) await this.#handOver(10, look);
    await this.#passUntil((dayMin + afterwardsMin) * minuteMs, look);
  }

  async end(): Promise<void> {
    this.#clock.die();
    await this.collector.stop();
    rmSync(this.folder, { recursive: true, force: true });
  }

  /** Loses what the process held in memory. */
  async #restart(): Promise<void> {
    this.lives.killed += 1;
    this.#clock.die();
    await this.collector.stop();
    await this.#begin();
  }

  async #begin(): Promise<void> {
    this.#clock = new LifeClock(this.world);
    this.collector = createCollector({
      plantFile: this.#plantFile,
      dataDir: this.dataDir,
      clock: this.#clock,
      clockSetting: { originMs: 0, wallOriginMs: 0, rate },
      judge: 'inline',
      version: 'simulation',
      judgeEveryMs: 4 * minuteMs,
      stepEveryMs: minuteMs,
      usedShare: () => this.#used,
      isSynchronised: () => Promise.resolve(null),
      bus: (parts) => (this.#bus = new SimulatedBus(this.broker, parts, this.#chance)),
    });
    await this.collector.start();
    this.#bus?.connect();
    if (this.#chance.happens(this.#trouble.kill)) this.#clock.killAfter(this.#chance.below(1500));
  }

  /** Time passes, through as many lives as it takes. */
  async #passUntil(elapsedMs: number, look: () => void): Promise<void> {
    while (this.world.monotonicMs() < elapsedMs) {
      await this.#survive(() => this.world.advance(elapsedMs - this.world.monotonicMs()));
      look();
    }
  }

  async #handOver(windows: number, look: () => void): Promise<void> {
    for (let i = 0; i < windows; i += 1) {
      await this.#survive(() => {
        this.#bus?.connect();
        this.#bus?.deliver(() => void this.#clock.nowMs());
      });
      look();
    }
  }

  async #survive(step: () => void): Promise<void> {
    try {
      step();
    } catch (error) {
      if (!(error instanceof Killed)) throw error;
      await this.#restart();
    }
  }

  /** Something may go wrong in the next minute. */
  #stir(): void {
    const { kill, cut, forget, pause, clock, disk } = this.#trouble;
    const chance = this.#chance;
    if (chance.happens(kill)) this.#clock.killAfter(chance.below(400));
    if (chance.happens(cut)) this.#bus?.cut();
    if (chance.happens(forget)) {
      this.#bus?.cut();
      this.broker.forget();
    }
    if (chance.happens(pause)) this.#pausedMin = chance.below(12);
    if (chance.happens(disk)) this.#used = [0.5, 0.88, 0.93, 0.98][chance.below(4)] ?? 0.5;
    if (this.#clockOffMs === 0 && chance.happens(clock)) {
      this.#setClock((chance.below(360) - 180) * minuteMs);
      this.#quietUntilMs = this.world.monotonicMs() + chance.below(20) * minuteMs;
    } else if (this.world.monotonicMs() >= this.#quietUntilMs) {
      this.#setClock(0);
    }
  }

  #calm(): void {
    this.#clock.killAfter(Infinity);
    Object.assign(this.#trouble, noTrouble);
    this.#used = 0.5;
    this.#setClock(0);
  }

  /** How far the collector's clock is off from now on [ms]. */
  #setClock(offMs: number): void {
    this.world.wallStepMs(offMs - this.#clockOffMs);
    this.#clockOffMs = offMs;
  }
}
