import type { Hello } from './collector.ts';

/** What a page brings with it, so that its frame with the station names stands at once. */
export interface PageBlock {
  /** Names the page's files as built; another name: there is a newer page. */
  page: string;
  /** Null until the server has met its collector. */
  plant: Pick<Hello, 'site' | 'stations'> | null;
}

/** Event `beat` of the stream: the server lives, what time it has, and which page. */
export interface Beat {
  /** Plant time at sending [ms]. */
  nowMs: number;
  page: string;
}
