import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, type Assertion } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { connectBroker } from '@setwell/collector/intake/broker-client';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { startDashboard, type Dashboard } from '@setwell/dashboard/server/server';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { until } from '../fixtures/until.ts';
import { desk, webAndBrowser } from './staged.ts';

/** A test plays hours of a hall [ms]. */
export const patient = 300_000;

/** A Monday, 09:40:30 in Copenhagen: between two minutes, so that no figure trembles. */
const startMs = Date.parse('2026-03-02T08:40:30Z');
const hallFile = new URL('../fixtures/hall/plant.yaml', import.meta.url).pathname;

/** Readings are sent together so often, a point's every so often [s]. */
const togetherS = 30;
const everyS = 5;

/** What a point reads at so many minutes from the start of a play [°C]; null: it is silent. */
export type Course = (min: number) => number | null;
export type Courses = Record<string, Course>;

/** The plate dips by 13 K under the cold charge and recovers with a time constant of 100 s. */
const pressed =
  (holdC: number): Course =>
  (min) =>
    holdC - 13 * Math.exp((-min * 60) / 100);
export const steady =
  (c: number): Course =>
  () =>
    c;

/** Both presses hot. */
export const warm: Courses = {
  'p1-u': steady(138),
  'p1-l': steady(138),
  'p2-u': steady(138),
  'p2-l': steady(138),
};

/** What stands still in the hall, hour after hour. */
export const rooms: Courses = {
  'ra-1': steady(21),
  'o1-air': steady(62),
  's1-1': steady(20),
  'b1-air': steady(64),
};

/** Both faces of a press (`p1`, `p2`) from so many minutes after its closing on. */
export function facesOf(press: string, holdC: number, fromMin: number): Courses {
  const course: Course = (min) => pressed(holdC)(min + fromMin);
  return { [`${press}-u`]: course, [`${press}-l`]: course };
}

interface HallParts {
  web: string;
  plant: string;
  ports: readonly [number, number];
}

export interface HallPage {
  hall: Hall;
  page: Page;
  /** Where the page as built lies. */
  web: string;
}

/**
 * One hall and one page at a desk, for all tests of a file; `begin` takes them and plays what was before.
 *
 * @param plant its file; recipes lie beside it
 */
export function inHall(begin: (opened: HallPage) => Promise<unknown>, plant = hallFile): void {
  const opened = webAndBrowser();
  let hall: Hall;
  beforeAll(async () => {
    hall = await Hall.open(opened.web, plant);
    const context = await opened.browser.newContext({ viewport: desk });
    await begin({ hall, page: await context.newPage(), web: opened.web });
  }, patient);
  afterAll(() => hall.close(), patient);
}

/** What a screen says once it has caught up; in vain it fails at the limit. */
export function settled<T>(read: () => T | Promise<T>): Assertion<Awaited<T>>['resolves'] {
  return expect.poll(read, { timeout: 30_000 });
}

/**
 * The running product with a plant that a test plays: a real broker, collector and dashboard, on a clock
 * that moves when it is told to. What a screen shows came in as messages.
 */
export class Hall {
  readonly clock = new SteppedClock(startMs);
  /** Share of the collector's disk that is used [1]. */
  diskUsed = 0.4;
  /** Whether the collector's machine follows a time server; null: it cannot say. */
  isSynchronised: boolean | null = null;
  readonly #broker: Mosquitto;
  readonly #web: string;
  readonly #plantFile: string;
  /** Of the collector and of its pages, the same after a restart: what followed them finds them again. */
  readonly #ports: readonly [number, number];
  readonly #folder = mkdtempSync(join(tmpdir(), 'setwell-hall-'));
  #collector: Collector;
  #client: MqttClient;
  #dashboard: Dashboard | null = null;
  #token = '';

  private constructor(broker: Mosquitto, { web, plant, ports }: HallParts, client: MqttClient) {
    this.#broker = broker;
    this.#web = web;
    this.#plantFile = plant;
    this.#client = client;
    this.#ports = ports;
    this.#collector = this.#create();
  }

  static async open(web: string, plant = hallFile): Promise<Hall> {
    const broker = new Mosquitto(await freePort());
    await broker.start();
    const client = await mqtt.connectAsync(broker.url, { clientId: 'controller' });
    const ports = [await freePort(), await freePort()] as const;
    const hall = new Hall(broker, { web, plant, ports }, client);
    await hall.#start();
    return hall;
  }

  get url(): string {
    return `http://127.0.0.1:${String(this.#ports[1])}`;
  }

  get collector(): Collector {
    return this.#collector;
  }

  /** An event of a station's controller, as of now or of a time [ms]. */
  async event(station: string, event: string, more: object = {}, atMs = this.#nowMs()) {
    const seen = this.#collector.journal.head();
    const payload = JSON.stringify({ t: atMs, event, ...more });
    await this.#client.publishAsync(`plant/${station}/event`, payload, { qos: 1 });
    await until(() => this.#collector.journal.head() > seen);
    this.#collector.step();
  }

  /** Lets time go by, with what the points read meanwhile. */
  async play(minutes: number, courses: Courses): Promise<void> {
    for (let s = 0; s < minutes * 60; s += togetherS) {
      const stepS = Math.min(togetherS, minutes * 60 - s);
      const fromMs = this.#nowMs();
      this.clock.advance(stepS * 1000);
      await this.#read(courses, s, stepS, fromMs);
      this.#collector.step();
    }
    await this.#caughtUp();
  }

  /** Sends what points have read between two times: late, where that is long ago. */
  async send(courses: Courses, fromMs: number, minutes: number): Promise<void> {
    await this.#read(courses, 0, minutes * 60, fromMs);
    this.#collector.step();
    await this.#caughtUp();
  }

  async stopCollector(): Promise<void> {
    await this.#collector.stop();
  }

  async startCollector(): Promise<void> {
    this.#collector = this.#create();
    await this.#listen();
    this.#collector.step();
  }

  stopBroker(): Promise<void> {
    return this.#broker.stop();
  }

  async startBroker(): Promise<void> {
    await this.#broker.start();
    await until(() => this.#client.connected && this.#collector.bus().connected);
  }

  async restartDashboard(between: () => Promise<void>): Promise<void> {
    await this.#dashboard?.stop();
    await between();
    await this.#startDashboard();
  }

  async close(): Promise<void> {
    await this.#dashboard?.stop();
    await this.#collector.stop();
    await this.#client.endAsync();
    await this.#broker.end();
    rmSync(this.#folder, { recursive: true });
  }

  #nowMs(): number {
    return this.clock.nowMs();
  }

  #create(): Collector {
    return createCollector({
      plantFile: this.#plantFile,
      dataDir: join(this.#folder, 'collector'),
      clock: this.clock,
      clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
      judge: 'inline',
      usedShare: () => this.diskUsed,
      isSynchronised: () => Promise.resolve(this.isSynchronised),
      judgeEveryMs: togetherS * 1000,
      stepEveryMs: togetherS * 1000,
      bus: (parts) => connectBroker({ url: this.#broker.url }, parts),
      serve: { port: this.#ports[0] },
      version: 'test',
    });
  }

  async #start(): Promise<void> {
    await this.#listen();
    this.#collector.step();
    await this.#startDashboard();
  }

  async #listen(): Promise<void> {
    const { tokenFile } = await this.#collector.start();
    if (tokenFile === null) throw new Error('the collector answers nowhere');
    this.#token = readFileSync(tokenFile, 'utf8').trim();
    await this.#collector.connected();
  }

  async #startDashboard(): Promise<void> {
    this.#dashboard = await startDashboard({
      collectorUrl: `http://127.0.0.1:${String(this.#ports[0])}`,
      token: this.#token,
      port: this.#ports[1],
      dataFolder: join(this.#folder, 'dashboard'),
      webFolder: this.#web,
      version: 'test',
      greetEveryMs: 100,
      log: (line) => process.stderr.write(`${line}\n`),
    });
    await this.#caughtUp();
  }

  async #read(courses: Courses, fromS: number, forS: number, fromMs: number): Promise<void> {
    const { journal } = this.#collector;
    const sent: { point: string; t: number }[] = [];
    const messages: Promise<unknown>[] = [];
    for (const [point, course] of Object.entries(courses)) {
      const rows: { t: number; v: number }[] = [];
      for (let s = everyS; s <= forS; s += everyS) {
        const c = course((fromS + s) / 60);
        if (c !== null) rows.push({ t: fromMs + s * 1000, v: Math.round(c * 10) / 10 });
      }
      const last = rows.at(-1);
      if (last === undefined) continue;
      sent.push({ point, t: last.t });
      const topic = `plant/${stationOf(point)}/${point}`;
      messages.push(this.#client.publishAsync(topic, JSON.stringify(rows), { qos: 1 }));
    }
    await Promise.all(messages);
    await until(() =>
      sent.every(({ point, t }) => journal.readings(point, t, t).readings.length > 0),
    );
  }

  /** The dashboard has seen the collector's clock as it stands now, and all that it has said. */
  async #caughtUp(): Promise<void> {
    if (this.#dashboard === null) return;
    await until(async () => {
      const answer = await fetch(`${this.url}/api/v1/stations`);
      const { nowMs } = (await answer.json()) as { nowMs: number };
      return Math.abs(nowMs - this.#nowMs()) < 2_000;
    });
  }
}

const stations: Record<string, string> = {
  p1: 'press-1',
  p2: 'press-2',
  ra: 'rack-a',
  o1: 'oven-1',
  s1: 'store-1',
  b1: 'bench-1',
};

const stationOf = (point: string): string => stations[point.slice(0, 2)] ?? 'press-1';
