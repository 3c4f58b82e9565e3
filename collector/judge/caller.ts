import { callsOfLoad } from '@setwell/shared-models/call/load-calls';
import { callRules } from '@setwell/shared-models/call/call-rule';
import type {
  CallCleared,
  CallKind,
  CallRaised,
  JournalPlace,
  LoadAmended,
  LoadSealed,
} from '@setwell/shared-models/record/bodies';
import type { About } from '@setwell/shared-models/record/entry';
import type { ScoreResult } from '@setwell/shared-models/score/shape';
import type { StationEvent } from '../journal/shape.ts';
import type { Proposal } from '../ledger/shape.ts';
import type { Refusal } from './admission.ts';
import { aboutLoad, type JudgedLoad } from './judged-load.ts';
import type { LedgerFold } from './ledger-fold.ts';

/** Calls that follow from a load's verdict and forecast, and from nothing else. */
function isOfLoad({ kind, point }: CallRaised): boolean {
  const others: CallKind[] = ['event-refused', 'release-questioned', 'readings-too-late'];
  return point === null && !others.includes(kind);
}

/** Calls people, each once, and lets them go when the cause is gone. */
export class Caller {
  readonly #fold: LedgerFold;
  readonly #propose: (proposal: Proposal) => void;

  constructor(fold: LedgerFold, propose: (proposal: Proposal) => void) {
    this.#fold = fold;
    this.#propose = propose;
  }

  /** Raises what the load asks for, clears what it asks for no more. */
  forLoad(load: JudgedLoad, nowMs: number, sealed: ScoreResult | null): void {
    const { opened } = load;
    const up = [...this.#fold.calls.values()].filter(
      ({ raised }) => raised.load === opened.load && isOfLoad(raised),
    );
    const wanted = callsOfLoad({
      load: opened.load,
      lot: opened.lot,
      station: opened.station,
      state: sealed ? 'sealed' : load.state,
      nowMs,
      startMs: opened.marks.pressureOn.earliestMs,
      plannedEndMs: opened.plannedEndMs,
      ...load.verdict(sealed),
      worst: (sealed ?? load.result)?.worst ?? null,
      unit: (sealed ?? load.result)?.unit ?? null,
      forecast: load.forecast,
      hasRecipe: load.recipe !== null,
      faulted: load.faulted,
      up: new Set(up.map(({ raised }) => raised.kind)),
    });
    for (const call of up) {
      if (wanted.some(({ kind }) => kind === call.raised.kind)) continue;
      this.#clear(call.id, load.state === 'open' ? 'recovered' : 'over');
    }
    for (const raised of wanted) {
      if (up.some((call) => call.raised.kind === raised.kind)) continue;
      const times = this.#fold.timesRaised(opened.load, raised.kind);
      const id = `${raised.kind}.${opened.load}${times === 0 ? '' : `.${String(times + 1)}`}`;
      this.#propose({
        kind: 'call-raised',
        by: 'collector',
        about: { ...aboutLoad(opened), call: id },
        body: raised,
      });
    }
  }

  /** A point that a running load needs and that has stopped. */
  forSilence(
    loads: Iterable<JudgedLoad>,
    silentSince: (point: string) => number | null,
    mayRaise: (point: string) => boolean,
  ): void {
    const needed = new Map<string, JudgedLoad>();
    for (const load of loads) {
      if (load.state !== 'open') continue;
      for (const point of load.points) if (!needed.has(point)) needed.set(point, load);
    }
    const up = [...this.#fold.calls.values()].filter(
      ({ raised }) => raised.kind === 'sensor-silent',
    );
    for (const { id, raised } of up) {
      const point = raised.point ?? '';
      if (!needed.has(point)) this.#clear(id, 'over');
      else if (silentSince(point) === null) this.#clear(id, 'recovered');
    }
    for (const [point, load] of needed) {
      if (up.some(({ raised }) => raised.point === point)) continue;
      const sinceMs = silentSince(point);
      if (sinceMs === null || !mayRaise(point)) continue;
      const { opened } = load;
      const id = `sensor-silent.${point}.${String(sinceMs)}`;
      const raised: CallRaised = {
        kind: 'sensor-silent',
        station: opened.station,
        load: opened.load,
        point,
        who: 'maintenance',
        tooLateMs: opened.plannedEndMs,
        values: { sinceMs, lot: opened.lot },
      };
      const about = { ...aboutLoad(opened), sensor: point, call: id };
      this.#propose({ kind: 'call-raised', by: 'collector', about, body: raised });
    }
  }

  /** An event that was not believed. */
  forRefusal(event: StationEvent, place: JournalPlace, refusal: Refusal): void {
    const { station, load, act } = event;
    const known = [...this.#fold.calls.values()].some(
      ({ raised: { kind, values }, raised }) =>
        kind === 'event-refused' &&
        raised.station === station &&
        values['event'] === event.event &&
        values['code'] === refusal.code,
    );
    // Somebody is called already for this very thing: a controller that repeats itself fills no ledger.
    if (known && act === null) return;
    const id = `event-refused.${String(place.seq)}.${String(place.index)}`;
    const { field, code, found, expected } = refusal;
    const raised: CallRaised = {
      kind: 'event-refused',
      station,
      load,
      point: null,
      who: code === 'unknown-station' ? 'administrator' : 'shift-lead',
      tooLateMs: null,
      values: { event: event.event, field, code, found, expected, ...place },
    };
    const about: About = { call: id, station, ...(load === null ? {} : { load }) };
    this.#propose({ kind: 'call-raised', by: 'collector', about, body: raised });
    // A person on a screen has been told already, and puts it right there.
    if (act !== null) this.#clear(id, 'over');
  }

  /** Readings came for a load that was sealed more than 72 h ago: only a person can make them count. */
  forReadingsTooLate(load: string): void {
    if (this.#fold.timesRaised(load, 'readings-too-late') > 0) return;
    const finished = this.#fold.finished.get(load);
    if (!finished) return;
    const { station, lot, startMs } = finished;
    this.#raise(
      { station, load, startMs, ...(lot === '' ? {} : { lots: [lot] }) },
      {
        kind: 'readings-too-late',
        station,
        load,
        point: null,
        who: callRules['readings-too-late'].who,
        tooLateMs: null,
        values: { lot },
      },
    );
  }

  /** Parts were let go on an account that no longer stands. */
  forQuestionedRelease({ opened }: JudgedLoad, now: LoadAmended, before: LoadSealed): void {
    const { load, station, lot } = opened;
    const up = [...this.#fold.calls.values()].some(
      ({ raised }) => raised.kind === 'release-questioned' && raised.load === load,
    );
    if (up) return;
    this.#raise(aboutLoad(opened), {
      kind: 'release-questioned',
      station,
      load,
      point: null,
      who: callRules['release-questioned'].who,
      tooLateMs: null,
      values: { lot, verdict: now.verdict, before: before.verdict, revision: now.revision },
    });
  }

  /** There never was such a load. */
  forget(load: string): void {
    for (const { id, raised } of [...this.#fold.calls.values()]) {
      if (raised.load === load) this.#clear(id, 'over');
    }
  }

  #raise(about: About, body: CallRaised): void {
    const times = this.#fold.timesRaised(body.load ?? '', body.kind);
    const again = times === 0 ? '' : `.${String(times + 1)}`;
    const call = `${body.kind}.${body.load ?? body.station ?? ''}${again}`;
    this.#propose({ kind: 'call-raised', by: 'collector', about: { ...about, call }, body });
  }

  /** People have decided over a load: nobody needs to be called for it any more. */
  decided(load: string | undefined): void {
    if (load === undefined) return;
    const kinds = [
      'ended-short',
      'ended-unproven',
      'ended-over',
      'load-faulted',
      'which-lot',
      'release-questioned',
      'readings-too-late',
    ];
    for (const { id, raised } of [...this.#fold.calls.values()]) {
      if (raised.load === load && kinds.includes(raised.kind)) this.#clear(id, 'decided');
    }
  }

  /** Nothing can heal a refused event; reading it is all there is to do. */
  acknowledged(call: string | undefined): void {
    const known = this.#fold.calls.get(call ?? '');
    if (known?.raised.kind === 'event-refused') this.#clear(known.id, 'decided');
  }

  #clear(id: string, because: CallCleared['because']): void {
    const call = this.#fold.calls.get(id);
    const { station, load, point } = call?.raised ?? { station: null, load: null, point: null };
    const about: About = {
      call: id,
      ...(station === null ? {} : { station }),
      ...(load === null ? {} : { load }),
      ...(point === null ? {} : { sensor: point }),
    };
    this.#propose({ kind: 'call-cleared', by: 'collector', about, body: { because } });
  }
}
