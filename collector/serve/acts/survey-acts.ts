import { longestSoakMs, soak, type SoakGiven } from '@setwell/shared-models/api/survey';
import { survey } from '@setwell/shared-models/condition/survey';
import type { SurveyedPoint } from '@setwell/shared-models/condition/survey';
import { gridNamed, type SurveyedBy } from '@setwell/shared-models/condition/survey-figures';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { SurveyTaken } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import { CommandProblem } from '../../problem.ts';
import { parseSurveyTable, pointsOf, samplesOf } from '../../condition/survey-table.ts';
import { correctedSamples, isUncorrected } from '../../condition/survey-correction.ts';
import { liveSoak, sampleEveryS, soakCsv } from '../../condition/survey-soak.ts';
import type { JournalReader } from '../../journal/shape.ts';
import { sha256Hex } from '../../ledger/sha256.ts';
import type { GivenAct } from './act.ts';
import { aboutOf, recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

export interface SurveyActParts extends RecordedActParts {
  plant: Plant;
  journal: JournalReader;
}

const name = z.string().min(1).max(120);
const dayMs = 86_400_000;
const aheadMs = 10_000;

const takenSchema = z.strictObject({
  survey: name,
  station: name,
  setPointC: z.number().min(-100).max(400),
  toleranceK: z.number().positive().max(100),
  grid: z.string().max(12).default(''),
  note: z.string().max(1000).default(''),
  soak,
});

type Live = Extract<SoakGiven, { kind: 'live' }>;
type File = Extract<SoakGiven, { kind: 'file' }>;

interface Soaked {
  points: SurveyedPoint[];
  by: SurveyedBy[];
  timesS: number[];
}

/** A survey is taken: its figures are computed here, from what spoke or from a file. @throws ActRefused */
export function surveyAct(act: GivenAct, parts: SurveyActParts): Entry {
  const { soak: from, grid: gridText, ...given } = parsed(takenSchema, act.body);
  const station = parts.plant.stations.find(({ id }) => id === given.station);
  if (station === undefined) throw refused('body.station', given.station, 'a station of the plant');
  const atMs = from.kind === 'live' ? from.toMs : from.atMs;
  if (atMs > parts.clock.nowMs() + aheadMs) {
    throw refused('body.soak', new Date(atMs).toISOString(), 'a time that has been');
  }
  const { points, by, timesS } = from.kind === 'live' ? live(from, parts) : filed(from, parts);
  const grid = gridText === '' ? null : gridNamed(gridText);
  const fits = grid !== null && grid.rows * grid.columns === points.length;
  if (gridText !== '' && !fits) {
    const found = `${JSON.stringify(gridText)} for ${points.length} points`;
    throw refused('body.grid', found, 'rows x columns, as many places as there are points: 3x3');
  }
  const csv = Buffer.from(soakCsv(points, timesS));
  const taken: SurveyTaken = {
    ...given,
    atMs,
    source: from.kind === 'live' ? { kind: 'live' } : { kind: 'file', name: from.name },
    grid,
    soak: { fromS: timesS[0] ?? 0, toS: timesS.at(-1) ?? 0, samples: timesS.length },
    figures: survey(points, given.setPointC, given.toleranceK),
    by,
    samples: { sha256: sha256Hex(csv), bytes: csv.length },
  };
  const about = { station: station.id, ...aboutOf(act) };
  return recorded(act, parts, about, taken, [csv]);
}

function live({ points, fromMs, toMs }: Live, { plant, fold, journal }: SurveyActParts): Soaked {
  if (toMs <= fromMs || toMs - fromMs > longestSoakMs) {
    const found = `${Math.round((toMs - fromMs) / 60_000)} min`;
    throw refused('body.soak.toMs', found, 'a soak of 1 min to 12 h');
  }
  const spoke = liveSoak({ plant, acts: fold.instruments, journal }, points, fromMs, toMs);
  if ('found' in spoke) throw refused(spoke.point, spoke.found, spoke.expected);
  const timesS = Array.from({ length: spoke.samples }, (_, i) => i * sampleEveryS);
  return { points: spoke.points, by: spoke.by, timesS };
}

function filed({ name: file, text, asShown, atMs }: File, parts: SurveyActParts): Soaked {
  try {
    const table = parseSurveyTable(text, file);
    const timesS = table.full('time_s');
    const rows = timesS.map((_, row) => row);
    const columns = pointsOf(table).map((point) => ({
      point,
      samplesC: samplesOf(table, point, rows),
    }));
    if (!asShown) {
      const nothing = { instrument: null, certificate: null, correctionK: null, observedC: null };
      return { points: columns, by: columns.map(({ point }) => ({ point, ...nothing })), timesS };
    }
    const facts = { plant: parts.plant, acts: parts.fold.instruments };
    const corrected = columns.map(({ point, samplesC }) => {
      const answer = correctedSamples(facts, point, samplesC, Math.floor(atMs / dayMs));
      if (!isUncorrected(answer)) return { point, ...answer };
      const line = answer.sample === null ? '' : `, line ${table.lines[answer.sample] ?? ''}`;
      throw refused(`${file}${line}, ${point}`, answer.found, answer.expected);
    });
    return { points: corrected, by: corrected.map(({ by }) => by), timesS };
  } catch (error) {
    if (!(error instanceof CommandProblem)) throw error;
    const where = [error.line === null ? null : `line ${error.line}`, error.field];
    const field = [file, ...where].filter((part) => part !== null).join(', ');
    throw refused(field, error.found, error.expected);
  }
}
