/** Time as an argument: the collector never asks the machine. Times are the plant's, so a demo's run faster. */
export interface Clock {
  /** Plant time [ms since the epoch]. */
  nowMs(): number;
  /** Never steps back; only differences mean something [ms of plant time]. */
  monotonicMs(): number;
  /** Calls back once, `delayMs` of plant time from now; the answer cancels it. */
  after(delayMs: number, callback: () => void): () => void;
}
