/** How a plant's clock follows the wall clock. A real plant's is `{ originMs: 0, wallOriginMs: 0, rate: 1 }`. */
export interface ClockSetting {
  /** Plant time at `wallOriginMs` [ms]. */
  originMs: number;
  wallOriginMs: number;
  rate: number;
}

export const wallClock: ClockSetting = { originMs: 0, wallOriginMs: 0, rate: 1 };

/** Plant time at a wall time [ms]. Collector, simulator and browser share it, so that a demo is one world. */
export function plantMs(setting: ClockSetting, wallMs: number): number {
  return setting.originMs + (wallMs - setting.wallOriginMs) * setting.rate;
}
