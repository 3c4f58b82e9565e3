import type { Collector } from '@setwell/collector/collector';
import type { CallRaised, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { About, Entry } from '@setwell/shared-models/record/entry';
import { minuteMs } from './calendar.ts';

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
  #waiting: { dueMs: number; entry: Entry }[] = [];

  constructor(collector: Collector) {
    this.#collector = collector;
  }

  act(nowMs: number): void {
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
        ? { kind: 'disposition', by: engineer, about: ofLoad(about), cites, act, body: concession }
        : { kind: 'call-acknowledged', by: maintenance, about, cites, act, body: { note: null } },
    ]);
  }
}

const concession = {
  decision: 'concession',
  reason: 'test piece of the closing: wood failure 90 %, above the least of 75 % (invented)',
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
