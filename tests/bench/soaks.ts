import { takeHostilePayloads } from '../contract/hostile-payload.ts';
import { readHostileText } from '../contract/hostile-text.ts';
import { askWildly, closeFuzzed } from '../contract/fuzzed-requests.ts';
import { flippedShares, flipShareOfBundle } from '../contract/flipped-bundle.ts';
import { simulatedSeeds, tallySimulatedLoads } from '../bounds/simulated-soak.ts';
import { playFaultyShift } from '../simulation/called-faults.ts';
import { watchPress } from '../simulation/detection-table.ts';
import { watchCleanWeek } from '../simulation/clean-week.ts';
import { killInMidWork } from '../faults/killed-at-random.ts';
import { readDamagedJournal } from '../faults/damaged-bytes.ts';
import { endSpeaking, memoryParts, speakOn } from './memory-soak.ts';
import { endWatching, pageParts, watchOn } from './page-memory-soak.ts';
import { liveThroughBadDay } from '../simulation/day/bad-day.ts';

/** Something tried with one seed after the other; a throw is a find, and its seed repeats it. */
export interface Soak {
  name: string;
  /** Seeds 1 to this in the long run. */
  seeds: number;
  /** CI takes the first of so many parts of them. */
  ciParts: number;
  run(seed: number): void | Promise<void>;
  /** Ends what the first seed has opened. */
  end?(): Promise<void>;
  /** The test that plays CI's share of it and asks more of it; else `soak.test.ts` plays it. */
  playedBy?: string;
}

export const soaks: Soak[] = [
  {
    name: 'a clean week of the demo plant raises no false alarm of a sensor',
    seeds: 10,
    ciParts: 10,
    run: watchCleanWeek,
  },
  {
    name: 'a week of shifts with every fault in them calls no more than the published figures',
    seeds: 5,
    ciParts: 5,
    run: playFaultyShift,
    playedBy: 'simulation/called-faults.test.ts',
  },
  {
    name: 'faults of a press are found within their cycles, and a steady one calls at most once a zone',
    seeds: 40,
    ciParts: 20,
    run: watchPress,
  },
  {
    name: 'two thousand simulated loads: the truth is inside the interval as often as it says',
    seeds: simulatedSeeds,
    ciParts: simulatedSeeds,
    run: tallySimulatedLoads,
  },
  {
    name: 'any text is read or refused with its place',
    seeds: 4000,
    ciParts: 50,
    run: readHostileText,
  },
  {
    name: 'any payload is taken or set aside with its reason, a million of them',
    seeds: 4000,
    ciParts: 50,
    run: takeHostilePayloads,
  },
  {
    name: 'a journal damaged at random bytes names what is damaged and gives the rest',
    seeds: 2000,
    ciParts: 50,
    run: readDamagedJournal,
  },
  {
    name: 'a collector killed at a random moment has stored all that it has acknowledged',
    seeds: 100,
    ciParts: 25,
    run: killInMidWork,
  },
  {
    name: 'a bad day of a collector loses nothing and proves no more than a quiet one',
    seeds: 10_000,
    ciParts: 200,
    run: liveThroughBadDay,
  },
  {
    name: 'each byte of the smallest bundle, flipped, is found: by structure, and by digests where that is made right',
    seeds: flippedShares,
    ciParts: 20,
    run: flipShareOfBundle,
  },
  {
    name: 'a hundred requests that know the interface’s names and nothing of its manners',
    seeds: 10_000,
    ciParts: 500,
    run: askWildly,
    playedBy: 'contract/fuzzed-requests.test.ts',
    end: closeFuzzed,
  },
  {
    name: 'memory stays flat over half an hour of five hundred points',
    seeds: memoryParts,
    ciParts: memoryParts,
    run: speakOn,
    end: endSpeaking,
  },
  {
    name: 'pages hold no more after an hour of live updates',
    seeds: pageParts,
    ciParts: pageParts,
    run: watchOn,
    end: endWatching,
  },
];
