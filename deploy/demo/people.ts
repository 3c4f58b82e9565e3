import type { Collector } from '@setwell/collector/collector';
import type { CallRaised, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { About, Entry } from '@setwell/shared-models/record/entry';
import { atClock, minuteMs } from './calendar.ts';

/** Invented people, by number as the ledger knows them. */
const engineer = 'p-11';
const maintenance = 'p-21';

/** The engineer decides at his next round; a silent sensor is seen to at once, when somebody is near. */
const decidesAfterMs = 75 * minuteMs;
const goesAfterMs = 12 * minuteMs;

/** What people did in the demo's history: loads that were not in window are decided on, calls are taken. */
export class People {
  readonly #collector: Collector;
  #read = -1;
  #calibrated = false;
  #waiting: { dueMs: number; entry: Entry }[] = [];

  constructor(collector: Collector) {
    this.#collector = collector;
  }

  act(nowMs: number): void {
    if (nowMs >= cameBack.atMs && !this.#calibrated) {
      this.#calibrated = true;
      const { about, body } = cameBack;
      const kind = 'instrument-calibrated' as const;
      this.#collector.append([{ kind, by: maintenance, about, body, act: 'demo-calibrated' }]);
    }
    for (const { n, bytes } of this.#collector.ledger.entriesAfter(this.#read, 1000)) {
      this.#read = n;
      const entry = JSON.parse(bytes.toString('utf8')) as Entry;
      const afterMs = delayOf(entry);
      if (afterMs !== null) this.#waiting.push({ dueMs: nowMs + afterMs, entry });
    }
    const due = this.#waiting.filter(({ dueMs }) => dueMs <= nowMs);
    this.#waiting = this.#waiting.filter(({ dueMs }) => dueMs > nowMs);
    for (const { entry } of due) this.#answer(entry);
  }

  #answer({ n, about, kind }: Entry): void {
    const { log } = this.#collector.ledger;
    const [answered] = this.#collector.ledger.entriesAfter(n - 1, 1);
    if (!answered) return;
    const cites = [{ log, n, leaf: answered.leaf }];
    const act = `demo-${String(n)}`;
    this.#collector.append([
      kind === 'load-sealed'
        ? {
            kind: 'disposition',
            by: engineer,
            about: ofLoad(about),
            cites,
            act,
            body: concession(about.station),
          }
        : { kind: 'call-acknowledged', by: maintenance, about, cites, act, body: { note: null } },
    ]);
  }
}

/** Why the engineer lets go what heat has not proven; by station, else a test piece was broken. */
const reasons: Record<string, string> = {
  'uv-1': 'strip in the box: 1380 mJ/cm², within 900 to 4000 (invented)',
  'rack-a':
    'sample joint broken after a day: wood failure 85 %, above the least of 75 % (invented)',
};
const testPiece =
  'test piece of the closing: wood failure 90 %, above the least of 75 % (invented)';

function concession(station = ''): { decision: 'concession'; reason: string } {
  return { decision: 'concession', reason: reasons[station] ?? testPiece };
}

/**
 * Monday morning an instrument of press-1 comes back from the laboratory: it had shown 3.5 K too much, and
 * the oil had followed it, so that its readings looked right. It was adjusted.
 */
const cameBack = {
  atMs: atClock(3, 9.5),
  about: { station: 'press-1', sensor: 'p1-3l' },
  body: {
    instrument: 'p1-3l',
    calibration: {
      certificate: 'C-0447',
      date: '2026-03-02',
      due: '2027-03-02',
      k: 2,
      asFound: [{ atC: 138, correctionK: -3.5, expandedK: 0.4 }],
      asLeft: [{ atC: 138, correctionK: 0.2, expandedK: 0.4 }],
      points: [
        { atC: 10, correctionK: 0, expandedK: 0.4 },
        { atC: 100, correctionK: 0.2, expandedK: 0.4 },
        { atC: 150, correctionK: 0.2, expandedK: 0.4 },
      ],
    },
  },
};

/** How long it takes until somebody answers; null: nobody needs to. */
function delayOf({ kind, body }: Entry): number | null {
  if (kind === 'load-sealed' && (body as LoadSealed).verdict !== 'in-window') return decidesAfterMs;
  if (kind === 'call-raised' && (body as CallRaised).kind === 'sensor-silent') return goesAfterMs;
  return null;
}

function ofLoad({ station, load, startMs, lots }: About): About {
  return {
    ...(station === undefined ? {} : { station }),
    ...(load === undefined ? {} : { load }),
    ...(startMs === undefined ? {} : { startMs }),
    ...(lots === undefined ? {} : { lots }),
  };
}
