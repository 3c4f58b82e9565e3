import { createCollector } from '@setwell/collector/collector';
import { keyFolderBeside } from '@setwell/collector/ledger/key-folder';
import type { Arrival } from '@setwell/collector/intake/intake';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { mkdirSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { demoStartMs, firstRecordMs, minuteMs } from './calendar.ts';
import { Controllers } from './payload.ts';
import { People } from './people.ts';
import type { PastDay } from './past-readings.ts';
import { pastStartMs, writeSixWeeks } from './six-weeks.ts';
import { Works } from './works.ts';

/** Presses are read so often in it: enough for a verdict, and done in seconds. */
const pressEveryS = 10;

/**
 * What is written and judged together [ms]: readings that are told later than that count as late, and each
 * point would have a past of coming late.
 */
const togetherMs = minuteMs;

/** Often enough that calls come about when they would have come [ms of plant time]. */
const judgeEveryMs = 12 * minuteMs;

export interface FirstDays {
  /** Empty, or there is none yet. */
  dataDir: string;
  plantFile: string;
  seed: number;
  /** From the first record to where the demo's clock begins, unless told otherwise. */
  fromMs?: number;
  toMs?: number;
  /** Six weeks before them too, as the works' old logger kept them. */
  past?: Iterable<PastDay> | AsyncIterable<PastDay>;
  tell?: (share: number, messages: number) => void;
}

/** How much of the making is the six weeks. */
const pastShare = 0.25;

/**
 * Drives the collector itself through Friday evening and Monday morning, on a clock that is stepped: what
 * the demo starts with was received, judged, sealed and called by the code that goes on from there.
 */
export async function makeFirstDays({
  dataDir,
  plantFile,
  seed,
  fromMs = firstRecordMs,
  toMs = demoStartMs,
  past,
  tell,
}: FirstDays): Promise<void> {
  // Made aside and moved in when it is whole: half a history must not look like one.
  const aside = join(dataDir, 'making');
  rmSync(aside, { recursive: true, force: true });
  mkdirSync(aside, { recursive: true });
  const clock = new SteppedClock(past ? pastStartMs : fromMs);
  const collector = createCollector({
    plantFile,
    dataDir: aside,
    keyDir: keyFolderBeside(dataDir),
    clock,
    clockSetting: { originMs: fromMs, wallOriginMs: fromMs, rate: 1 },
    judge: 'inline',
    judgeEveryMs,
    version: 'demo history',
  });
  const share = past ? pastShare : 0;
  if (past) {
    await writeSixWeeks({
      collector,
      clock,
      seed,
      days: past,
      tell: (of) => tell?.(of * share, 0),
    });
    clock.advance(fromMs - clock.nowMs());
  }
  const works = Works.at(fromMs, { seed, pressEveryS });
  const controllers = new Controllers();
  const people = new People(collector);
  let messages = 0;
  while (clock.nowMs() < toMs) {
    clock.advance(Math.min(togetherMs, toMs - clock.nowMs()));
    const arrivals: Arrival[] = [];
    works.advance(clock.nowMs(), (happening) => {
      // What was running already when the history begins would end without having started.
      if (happening.kind === 'event' && happening.load.startMs < fromMs) return;
      for (const { topic, payload } of controllers.write(happening))
        arrivals.push({ ...handedOver, topic, payload: Buffer.from(payload) });
    });
    if (arrivals.length > 0) collector.accept(arrivals);
    collector.step();
    people.act(clock.nowMs());
    // A review that an act has started answers between two looks.
    await Promise.resolve();
    messages += arrivals.length;
    tell?.(share + ((1 - share) * (clock.nowMs() - fromMs)) / (toMs - fromMs), messages);
  }
  await collector.stop();
  for (const name of readdirSync(aside)) renameSync(join(aside, name), join(dataDir, name));
  rmSync(aside, { recursive: true });
}

const handedOver = { retained: false, queued: false, act: null };
