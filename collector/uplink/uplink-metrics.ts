import { Counter, Gauge, type Registry } from 'prom-client';

/** How far the uplink lags, asked when somebody looks, and what it has done since the start. */
export class UplinkMetrics {
  readonly lines: Counter;
  readonly refused: Counter;

  constructor(registry: Registry, lag: () => { batches: number; seconds: number }) {
    const registers = [registry];
    new Gauge({
      name: 'setwell_uplink_lag_batches',
      help: 'Batches of the journal that have not arrived at the long history',
      registers,
      collect() {
        this.set(lag().batches);
      },
    });
    new Gauge({
      name: 'setwell_uplink_lag_seconds',
      help: 'Age of the oldest of these batches',
      registers,
      collect() {
        this.set(lag().seconds);
      },
    });
    this.lines = new Counter({
      name: 'setwell_uplink_lines_total',
      help: 'Lines that the long history has taken',
      registers,
    });
    this.refused = new Counter({
      name: 'setwell_uplink_refused_total',
      help: 'Lines that it will never take, kept with its words',
      registers,
    });
  }
}
