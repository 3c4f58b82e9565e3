import { offeredPlaceK, placeHalfWidthK } from '@setwell/shared-models/condition/survey-figures';
import type { PlaceApproved, SurveyTaken } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { aboutOf, recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

const name = z.string().min(1).max(120);
/** The recipe file's own bound. */
const mostPlaceK = 50;
const approvedSchema = z.strictObject({ station: name, survey: name, placeK: z.number() });

/** What a survey says of a place is taken over for its station. @throws ActRefused */
export function placeAct(act: GivenAct, parts: RecordedActParts): Entry {
  const { station, survey, placeK } = parsed(approvedSchema, act.body);
  const taken = act.on ? parts.ledger.entry(act.on.n) : null;
  const body = taken?.kind === 'survey-taken' ? (taken.body as SurveyTaken) : null;
  if (body === null || body.survey !== survey || body.station !== station) {
    const found = act.on ? `entry ${String(act.on.n)}` : 'nothing';
    throw refused('on.n', found, `the entry of survey ${survey} of ${station}`);
  }
  const foundK = placeHalfWidthK(body.figures);
  if (placeK < foundK || placeK > Math.min(mostPlaceK, offeredPlaceK(foundK))) {
    const expected = `${offeredPlaceK(foundK).toFixed(1)} K, at most ${String(mostPlaceK)}: what the survey says`;
    throw refused('body.placeK', String(placeK), expected);
  }
  const now = parts.fold.places.at(station, Infinity);
  const was = now && { survey: now.survey, placeK: now.placeK };
  const approved: PlaceApproved = { station, survey, placeK, was };
  return recorded(act, parts, { station, ...aboutOf(act) }, approved);
}
