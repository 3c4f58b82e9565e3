import { plantMs, type ClockSetting } from '@setwell/shared-models/api/clock';
import type { Clock } from './clock.ts';

/** Node counts a timer's delay in 32 bits; a longer wait is taken in legs. */
const longestTimerMs = 2 ** 31 - 1;

/** Plant time from the machine's clocks: the wall's for times, the monotonic one for durations. */
export class SystemClock implements Clock {
  readonly #setting: ClockSetting;

  constructor(setting: ClockSetting) {
    this.#setting = setting;
  }

  nowMs(): number {
    return plantMs(this.#setting, Date.now());
  }

  monotonicMs(): number {
    return performance.now() * this.#setting.rate;
  }

  after(delayMs: number, callback: () => void): () => void {
    let leftMs = Math.max(0, delayMs / this.#setting.rate);
    let timer: NodeJS.Timeout;
    const wait = () => {
      const legMs = Math.min(leftMs, longestTimerMs);
      leftMs -= legMs;
      timer = setTimeout(() => (leftMs > 0 ? wait() : callback()), legMs);
    };
    wait();
    return () => clearTimeout(timer);
  }
}
