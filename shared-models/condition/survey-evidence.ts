import type { SurveyTaken } from '../record/bodies.ts';
import { compareSurveys } from './survey-figures.ts';

/** One of the two surveys that work stands between. */
export interface SurveyBeside {
  survey: string;
  atMs: number;
  uniformityK: number;
  inside: boolean;
}

/** What a survey before the work and one after it say of it. */
export interface SurveyEvidence {
  before: SurveyBeside;
  /** The newest after it; null: none was taken yet. */
  after: SurveyBeside | null;
  /** After less before [K]; null without one after it. */
  changeK: number | null;
  says: 'better' | 'same' | 'worse' | 'wait';
}

/** Two surveys of one plate on two days differ by as much. Common practice, no source. */
const noticedK = 0.5;
/** Surveys at another set point are of another thing [K]. */
const sameSetPointK = 1;

/**
 * Surveys of one station beside a repair.
 *
 * @param surveys in order of time
 * @returns null where none was taken before it
 */
export function surveyEvidence(
  surveys: readonly SurveyTaken[],
  doneMs: number,
): SurveyEvidence | null {
  const before = surveys.filter(({ atMs }) => atMs < doneMs).at(-1);
  if (before === undefined) return null;
  const after = surveys.filter((each) => each.atMs >= doneMs && isLike(each, before)).at(-1);
  const was = besideOf(before);
  if (after === undefined) return { before: was, after: null, changeK: null, says: 'wait' };
  const changeK = compareSurveys(after.figures, before.figures).uniformityK;
  const is = besideOf(after);
  const better = is.inside && !was.inside ? true : changeK < -noticedK && is.inside >= was.inside;
  const worse = !is.inside && was.inside ? true : changeK > noticedK && !better;
  return { before: was, after: is, changeK, says: better ? 'better' : worse ? 'worse' : 'same' };
}

/** The same points at the same set point. */
export function isLike(a: SurveyTaken, b: SurveyTaken): boolean {
  const sameGoal = Math.abs(a.setPointC - b.setPointC) <= sameSetPointK;
  return sameGoal && compareSurveys(a.figures, b.figures).missing.length === 0;
}

function besideOf({ survey, atMs, figures }: SurveyTaken): SurveyBeside {
  return { survey, atMs, uniformityK: figures.uniformityK, inside: figures.inside };
}
