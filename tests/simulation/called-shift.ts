import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createCollector } from '@setwell/collector/collector';
import type { Arrival } from '@setwell/collector/intake/intake';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { Controllers } from '@setwell/deploy/demo/payload';
import { Works, type Happening } from '@setwell/deploy/demo/works';
import type { CallCleared, CallRaised } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';

const plantFile = new URL('../../deploy/demo/plant.yaml', import.meta.url).pathname;
/** The plant's messages come together so often, and are judged then. */
const togetherMs = 30_000;
/** Presses are read so often in it. */
const pressEveryS = 10;

/** What becomes of what the works send; nothing: it does not come. */
export type Change = (sent: Happening) => Happening[];

export interface Called extends Omit<CallRaised, 'cause'> {
  raisedMs: number;
  clearedMs: number | null;
  because: CallCleared['because'] | null;
  cause: string | null;
}

/**
 * Points of the demo that are out of order by design, each with a sound one that it reads like here: what
 * is left is a works with nothing wrong.
 */
const soundLike: Record<string, string> = {
  'p1-1l': 'p1-1r',
  'p2-wing-u': 'p2-seat-u',
  'p2-wing-l': 'p2-seat-l',
};

/** The sound one's readings, with a scatter of its own. */
export function withoutFaults(): Change {
  const last = new Map<string, number>();
  return (sent) => {
    if (sent.kind === 'event') return [sent];
    const { point, t } = sent;
    last.set(point, sent.v);
    // The oven's second zone falls silent by itself: here its neighbour speaks for it.
    if (point === 'o1-z2') return [];
    const spoken = point === 'o1-z1' ? [{ ...sent, point: 'o1-z2', v: scattered(sent.v, t) }] : [];
    const v = last.get(soundLike[point] ?? '');
    return [v === undefined ? sent : { ...sent, v: scattered(v, t) }, ...spoken];
  };
}

function scattered(v: number, t: number): number {
  return Math.round(10 * (v + 0.1 * Math.sin((t / 1000) * 12.9898))) / 10;
}

/** The demo works over a time, told to a whole collector on a stepped clock; the calls that came of it. */
export async function calledBy(
  { seed, fromMs, hours }: { seed: number; fromMs: number; hours: number },
  changes: readonly Change[],
): Promise<Called[]> {
  const dataDir = mkdtempSync(join(tmpdir(), 'setwell-called-'));
  const clock = new SteppedClock(fromMs);
  const collector = createCollector({
    ...{ plantFile, dataDir, keyDir: join(dataDir, 'keys'), clock, judge: 'inline' },
    clockSetting: { originMs: fromMs, wallOriginMs: fromMs, rate: 1 },
    judgeEveryMs: togetherMs,
    version: 'test',
  });
  const works = Works.at(fromMs, { seed, pressEveryS });
  const controllers = new Controllers();
  while (clock.nowMs() < fromMs + hours * 3_600_000) {
    clock.advance(togetherMs);
    const arrivals: Arrival[] = [];
    works.advance(clock.nowMs(), (happening) => {
      if (happening.kind === 'event' && happening.load.startMs < fromMs) return;
      const sent = changes.reduce((all, change) => all.flatMap(change), [happening]);
      for (const { topic, payload } of sent.flatMap((each) => controllers.write(each))) {
        const how = { retained: false, queued: false, act: null };
        arrivals.push({ ...how, topic, payload: Buffer.from(payload) });
      }
    });
    if (arrivals.length > 0) collector.accept(arrivals);
    collector.step();
  }
  const entries = collector.ledger
    .entriesAfter(-1, 100_000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry);
  await collector.stop();
  rmSync(dataDir, { recursive: true });
  return callsIn(entries);
}

function callsIn(entries: readonly Entry[]): Called[] {
  const cleared = new Map(
    entries.filter(({ kind }) => kind === 'call-cleared').map((entry) => [entry.about.call, entry]),
  );
  return entries
    .filter(({ kind }) => kind === 'call-raised')
    .map(({ at, about, body }) => {
      const end = cleared.get(about.call);
      const raised = body as CallRaised;
      return {
        ...raised,
        cause: raised.cause ?? null,
        raisedMs: at,
        clearedMs: end?.at ?? null,
        because: end === undefined ? null : (end.body as CallCleared).because,
      };
    });
}
