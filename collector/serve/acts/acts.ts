import type { ActAnswer, ActStored } from '@setwell/shared-models/api/collector';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { JudgeStep } from '../../judge/judge.ts';
import { ActRefused, type ActRefusal, type GivenAct } from './act.ts';
import { acknowledge, shelve, unshelve, voidClosing } from './call-acts.ts';
import { correct } from './correct.ts';
import { dispose } from './dispose.ts';
import { instrumentAct, type InstrumentActParts } from './instrument-acts.ts';
import { legalHold, type LegalHoldParts } from './legal-hold.ts';
import { limitAct, type LimitActParts } from './limit-acts.ts';
import { note } from './note.ts';
import { admit } from './person-acts.ts';
import { placeAct } from './place-acts.ts';
import type { RecordedActParts } from './recorded-act.ts';
import { readHandover, setStation } from './station-set.ts';
import { answerTo, StationActs, type StationActParts } from './station-acts.ts';
import { surveyAct, type SurveyActParts } from './survey-acts.ts';
import { workAct, type WorkActParts } from './work-acts.ts';

/** Answers of refused acts that are remembered, so that the same id gets the same answer. */
const mostRefused = 1_000;

export type ActParts = RecordedActParts &
  StationActParts &
  InstrumentActParts &
  WorkActParts &
  LimitActParts &
  LegalHoldParts &
  SurveyActParts;

/** What people ask for. The same id again gets the same answer. */
export class Acts {
  readonly #parts: ActParts;
  readonly #station: StationActs;
  readonly #refused = new Map<string, ActRefusal>();

  constructor(parts: ActParts) {
    this.#parts = parts;
    this.#station = new StationActs(parts);
  }

  /** @throws ActRefused with the status, the field and the reason */
  async do(act: GivenAct): Promise<ActAnswer | ActStored> {
    const known = this.#parts.ledger.ofAct(act.id);
    if (known) return answerOf(known);
    const refused = this.#refused.get(act.id);
    if (refused) throw new ActRefused(refused);
    switch (act.kind) {
      case 'load-start':
      case 'load-end':
      case 'instrument-fitted':
      case 'instrument-removed':
        return this.#station.ask(act).then((entry) => (entry ? answerOf(entry) : { stored: true }));
      case 'load-corrected':
        return answerOf(correct(act, this.#parts));
      case 'load-noted':
        return answerOf(note(act, this.#parts));
      case 'call-acknowledged':
        return answerOf(acknowledge(act, this.#parts));
      case 'call-shelved':
        return answerOf(shelve(act, this.#parts));
      case 'call-unshelved':
        return answerOf(unshelve(act, this.#parts));
      case 'disposition':
        return answerOf(dispose(act, this.#parts));
      case 'instrument-calibrated':
      case 'point-withdrawn':
      case 'point-restored':
      case 'wire-proven':
      case 'fallback-approved':
        return answerOf(instrumentAct(act, this.#parts));
      case 'station-set':
        return answerOf(setStation(act, this.#parts));
      case 'closing-voided':
        return answerOf(voidClosing(act, this.#parts));
      case 'handover-read':
        return answerOf(readHandover(act, this.#parts));
      case 'person-granted':
      case 'person-revoked':
      case 'setup-offered':
        return answerOf(admit({ ...act, kind: act.kind }, this.#parts));
      case 'work-planned':
      case 'work-done':
      case 'work-closed':
        return answerOf(workAct(act, this.#parts));
      case 'limit-approved':
        return answerOf(limitAct(act, this.#parts));
      case 'survey-taken':
        return answerOf(surveyAct(act, this.#parts));
      case 'place-approved':
        return answerOf(placeAct(act, this.#parts));
      case 'legal-hold-set':
      case 'legal-hold-lifted':
        return answerOf(legalHold(act, this.#parts));
    }
  }

  /** What the judge has made of an act's event. */
  settle(entries: Entry[], found: Pick<JudgeStep, 'refusals' | 'repeated'>): void {
    this.#station.settle(entries, found);
    for (const { act, refusal } of found.refusals) {
      if (act !== null) this.#remember(act, answerTo(refusal));
    }
  }

  #remember(act: string, refusal: ActRefusal): void {
    this.#refused.set(act, refusal);
    const [oldest] = this.#refused.keys();
    if (this.#refused.size > mostRefused && oldest !== undefined) this.#refused.delete(oldest);
  }
}

function answerOf(entry: Entry): ActAnswer {
  return { n: entry.n, entry };
}
