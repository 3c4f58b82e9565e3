import type { HealthNow, PointHealth } from '@setwell/shared-models/api/health';
import type { PointNow } from '@setwell/shared-models/api/collector';
import type { ClockStepped } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { Gauge } from 'prom-client';
import { ClockWatch } from '../../intake/clock-watch.ts';
import type { PointTraffic } from '../../intake/traffic.ts';
import { spaceLimits } from '../../journal/free-space.ts';
import type { Collected, Part } from '../../part.ts';
import type { UplinkState } from '../../uplink/uplink.ts';
import type { Route } from '../route.ts';
import { json } from '../server.ts';
import { callsOfConditions, conditionsOf } from './conditions.ts';
import { upkeepConditions } from './upkeep-conditions.ts';
import { UpkeepWatch } from './upkeep.ts';

/** A step of the clock is told within it [ms of wall time]. */
const clockEveryMs = 1000;
/** What needs somebody is looked for so often [ms of wall time]. */
const lookEveryMs = 5000;
/** The machine is asked for its time server so often [ms of wall time]. */
const askEveryMs = 600_000;
/** What changes over weeks is looked at so often [ms of wall time]. */
const seldomEveryMs = 3_600_000;
const dayMs = 86_400_000;
/** At a start the newest receipt may be a little ahead: a commit takes its time before it is stored [ms]. */
const leastStepBackMs = 2000;

type Facts = Omit<HealthNow, 'conditions' | 'points'>;

/** Watches the collector itself: clock, disk, broker, long history, upkeep, and what is odd about each point. */
export class Health implements Part {
  readonly #collected: Collected;
  readonly #watch: ClockWatch;
  readonly #upkeep: UpkeepWatch;
  #steps: { atMs: number; byMs: number }[] = [];
  #synchronised: boolean | null = null;
  readonly #cancels = new Set<() => void>();

  constructor(collected: Collected) {
    const { clock, clockSetting } = collected;
    this.#collected = collected;
    this.#watch = new ClockWatch(clock, clockSetting.rate);
    this.#upkeep = new UpkeepWatch(collected);
    this.#measure();
  }

  hear(entries: Entry[]): void {
    for (const entry of entries) {
      if (entry.kind !== 'clock-stepped') continue;
      const { foundMs, expectedMs } = entry.body as ClockStepped;
      this.#steps.push({ atMs: foundMs, byMs: foundMs - expectedMs });
      this.#steps = this.#steps.slice(-100);
    }
  }

  start(): void {
    this.#lookBack();
    this.#upkeep.start();
    this.#every(seldomEveryMs, () => this.#upkeep.lookSeldom());
    this.#every(clockEveryMs, () => this.#lookAtClock());
    this.#every(lookEveryMs, () => this.#callSomebody());
    this.#askForTimeSource();
    this.#every(askEveryMs, () => this.#askForTimeSource());
  }

  stop(): void {
    for (const cancel of this.#cancels) cancel();
    this.#cancels.clear();
  }

  routes(): Route[] {
    return [
      { method: 'GET', path: '/health/now', answer: () => json(this.now()) },
      {
        method: 'POST',
        path: '/health/pages',
        answer: (_asked, body) => {
          this.#upkeep.hearPages(body);
          return json({});
        },
      },
    ];
  }

  now(): HealthNow {
    const { pointsNow, clock } = this.#collected;
    const facts = this.#facts();
    const points = pointsNow().map((point) => this.#pointHealth(point, clock.nowMs()));
    return { ...facts, conditions: this.#conditions(facts), points };
  }

  #conditions(facts: Facts) {
    const { traffic, clock, clockSetting, plant, version } = this.#collected;
    const fast = traffic.fast(clock.monotonicMs());
    const offsetsMs = [...traffic.points.values()].map((point) => point.offsetMs);
    const kept = { beganMs: facts.beganMs, isDemo: plant.site.demo };
    return [
      ...conditionsOf(facts, { fast, offsetsMs }, clockSetting.rate),
      ...upkeepConditions(facts, version, kept),
    ];
  }

  #facts(): Facts {
    const { clock, bus, store, journal, ledger, behindMs, uplink } = this.#collected;
    const nowMs = clock.nowMs();
    const target = uplink();
    return {
      nowMs,
      beganMs: ledger.entry(0)?.at ?? nowMs,
      broker: bus(),
      clock: {
        synchronised: this.#synchronised,
        steps: this.#steps.filter(({ atMs }) => Math.abs(nowMs - atMs) < dayMs),
      },
      disk: { used: store.used(), ...spaceLimits },
      journal: { head: journal.head(), unreadable: journal.unreadable() },
      judge: { behindMs: behindMs() },
      targets: target ? [targetOf(target)] : [],
      upkeep: this.#upkeep.now(),
    };
  }

  #pointHealth(point: PointNow, nowMs: number): PointHealth {
    const traffic = this.#collected.traffic.points.get(point.point);
    const { sequence } = traffic ?? {};
    return {
      ...point,
      offsetMs: traffic?.offsetMs ?? null,
      gaps: traffic?.gaps(nowMs) ?? [],
      sequence: {
        missing: sequence?.missing ?? 0,
        holes: sequence?.open.length ?? 0,
        restarts: sequence?.restarts ?? 0,
      },
      atMostOnce: traffic?.atMostOnce ?? 0,
      conflicts: [...(traffic?.conflicts ?? [])].map(([client, count]) => ({ client, count })),
    };
  }

  /** What was received last cannot lie in the future: then the clock was set while nobody was there. */
  #lookBack(): void {
    const { journal, clock } = this.#collected;
    const [newest] = journal.batchesAfter(journal.head() - 1, 1);
    const foundMs = clock.nowMs();
    if (!newest || newest.receivedMs <= foundMs + leastStepBackMs) return;
    this.#stepped({ expectedMs: newest.receivedMs, foundMs, when: 'start' });
  }

  #lookAtClock(): void {
    const step = this.#watch.look();
    if (step) this.#stepped({ ...step, when: 'running' });
  }

  #stepped(body: ClockStepped): void {
    const { append, log } = this.#collected;
    append([{ kind: 'clock-stepped', by: 'collector', about: {}, body }]);
    const seconds = Math.round((body.foundMs - body.expectedMs) / 1000);
    log(`clock: set by ${String(seconds)} s; readings are held against the new time from now on`);
  }

  #callSomebody(): void {
    const { fold, append, clock } = this.#collected;
    const proposals = callsOfConditions(this.#conditions(this.#facts()), fold, clock.nowMs());
    if (proposals.length > 0) append(proposals);
  }

  #askForTimeSource(): void {
    void this.#collected.isSynchronised().then((answer) => (this.#synchronised = answer));
  }

  #every(wallMs: number, look: () => void): void {
    const { clock, clockSetting } = this.#collected;
    const wait = () => {
      const cancel = clock.after(wallMs * clockSetting.rate, () => {
        this.#cancels.delete(cancel);
        wait();
        look();
      });
      this.#cancels.add(cancel);
    };
    wait();
  }

  /** Asked only when somebody looks. */
  #measure(): void {
    const { metrics, traffic, store, behindMs } = this.#collected;
    const registers = [metrics.registry];
    const sum = (of: (point: PointTraffic) => number) =>
      [...traffic.points.values()].reduce((total, point) => total + of(point), 0);
    const gauges: [string, string, () => number][] = [
      ['setwell_disk_used_ratio', 'How full the disk of the journal is', () => store.used()],
      [
        'setwell_sequence_missing',
        'Numbers of devices that have not come, since the start',
        () => sum(({ sequence }) => sequence.missing),
      ],
      [
        'setwell_at_most_once_messages',
        'Messages published at QoS 0, since the start: others like them may have been lost',
        () => sum(({ atMostOnce }) => atMostOnce),
      ],
      [
        'setwell_judge_behind_seconds',
        'Since when the judge has not been at the end of the journal',
        () => behindMs() / 1000,
      ],
      ['setwell_clock_steps', 'Steps of the clock in the last day', () => this.#steps.length],
    ];
    for (const [name, help, value] of gauges) {
      new Gauge({
        name,
        help,
        registers,
        collect() {
          this.set(value());
        },
      });
    }
  }
}

function targetOf({ target, lag, fault }: UplinkState): HealthNow['targets'][number] {
  return { target, lagBatches: lag.batches, lagSeconds: lag.seconds, fault };
}
