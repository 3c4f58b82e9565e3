import mqtt from 'mqtt';
import { until } from '../fixtures/until.ts';

const startMs = Date.now() - 1000;

/** Publishes one reading after the other, and remembers those that were acknowledged to it. */
export class Pump {
  readonly acknowledged = new Set<number>();
  readonly #publisher: mqtt.MqttClient;
  #next = 0;
  #isOn = true;

  constructor(url: string) {
    this.#publisher = mqtt.connect(url, { reconnectPeriod: 20 });
    this.#publisher.on('error', () => {});
    this.#publisher.once('connect', () => {
      for (let i = 0; i < 50; i++) this.#publish();
    });
  }

  #publish(): void {
    if (!this.#isOn) return;
    const v = this.#next++;
    const payload = `{"t":${startMs + v},"v":${v}}`;
    this.#publisher.publish('plant/press-1/p1-ul', payload, { qos: 1 }, (error) => {
      if (!error) this.acknowledged.add(v);
      this.#publish();
    });
  }

  /** Everything published so far is acknowledged, and no more comes. */
  async stop(): Promise<void> {
    this.#isOn = false;
    await until(() => this.acknowledged.size === this.#next);
    await this.#publisher.endAsync();
  }
}
