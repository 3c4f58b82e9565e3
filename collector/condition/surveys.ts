import type { SoakNow, StationSurveys, SurveyShown } from '@setwell/shared-models/api/heat-up';
import { goalLimits, longestSoakMs, mostSurveyed } from '@setwell/shared-models/api/survey';
import { survey } from '@setwell/shared-models/condition/survey';
import { isLike } from '@setwell/shared-models/condition/survey-evidence';
import {
  compareSurveys,
  gridNamed,
  offeredPlaceK,
  placeHalfWidthK,
} from '@setwell/shared-models/condition/survey-figures';
import { placeOfRecipe } from '@setwell/shared-models/condition/surveyed-place';
import { faceLayout } from '@setwell/shared-models/condition/face-layout';
import { measuresTemperature, type Station } from '@setwell/shared-models/plant/plant';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { calibrationInForce } from '@setwell/shared-models/metrology/calibration';
import { dayOfMs } from '@setwell/shared-models/metrology/calendar-day';
import { calibrationsKnown, fittedAt, fittingsOf } from '@setwell/shared-models/metrology/fitting';
import type { SurveyTaken } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { printLanguages } from '../export/print-words.ts';
import { surveyPdf } from '../export/survey-pdf.ts';
import { surveyPlanPdf, type PlannedPlace } from '../export/survey-plan-pdf.ts';
import type { Collected } from '../part.ts';
import { Refused, unknown } from '../serve/refused.ts';
import type { Asked, Route } from '../serve/route.ts';
import { json } from '../serve/server.ts';
import { liveSoak } from './survey-soak.ts';

/** Surveys of a station that are shown: a decade of quarterly ones. */
const mostShown = 40;

interface Known extends SurveyTaken {
  n: number;
  person: string;
}

/** Surveys as the ledger tells them, and what is asked of them. */
export class Surveys {
  readonly #collected: Collected;
  readonly #recipesOf: (station: Station) => Recipe[];
  /** By station, in order of time. */
  readonly #taken = new Map<string, Known[]>();

  constructor(collected: Collected, recipesOf: (station: Station) => Recipe[]) {
    this.#collected = collected;
    this.#recipesOf = recipesOf;
  }

  take({ kind, n, by, body }: Entry): void {
    if (kind !== 'survey-taken') return;
    const taken = { ...(body as SurveyTaken), n, person: by };
    const known = [...this.of(taken.station), taken].sort((a, b) => a.atMs - b.atMs);
    this.#taken.set(taken.station, known);
  }

  /** In order of time. */
  of(station: string): readonly Known[] {
    return this.#taken.get(station) ?? [];
  }

  routes(): Route[] {
    return [
      {
        method: 'GET',
        path: '/surveys/{station}',
        answer: (asked) => json(this.#answer(this.#station(asked))),
      },
      {
        method: 'GET',
        path: '/surveys/{station}/soak',
        answer: (asked) => json(this.#soak(asked)),
      },
      {
        method: 'GET',
        path: '/surveys/{station}/plan',
        answer: async (asked) => {
          const body = await this.#plan(this.#station(asked), asked);
          return { status: 200, type: 'application/pdf', body };
        },
      },
      {
        method: 'GET',
        path: '/surveys/{station}/{survey}/sheet',
        answer: async (asked) => {
          const body = await this.#sheet(this.#station(asked), asked);
          return { status: 200, type: 'application/pdf', body };
        },
      },
    ];
  }

  #station(asked: Asked): Station {
    const id = asked.name('station');
    const station = this.#collected.plant.stations.find((each) => each.id === id);
    if (!station) throw unknown('station', id, 'a station of the plant');
    return station;
  }

  #answer(station: Station): StationSurveys {
    const { plant, clock, fold } = this.#collected;
    const layout = [...faceLayout(station)].sort((a, b) => a.row - b.row);
    const faces = layout.map(({ point }) => point);
    const rows = new Set(layout.map(({ row }) => row)).size;
    const columns = new Set(layout.map(({ zone }) => zone)).size;
    const others = [...plant.sensors.values()].flatMap((sensor) =>
      sensor.station === station.id && measuresTemperature(sensor) ? [sensor.id] : [],
    );
    const recipes = this.#recipesOf(station).map((recipe) => {
      return { title: recipe.title, placeK: placeOfRecipe(recipe) };
    });
    const taken = this.of(station.id);
    const shown = taken.map((each, i): SurveyShown => {
      const comparison = beside(each, taken.slice(0, i));
      const placeK = placeHalfWidthK(each.figures);
      return { ...each, comparison, placeK, offeredK: offeredPlaceK(placeK), recipes };
    });
    return {
      station: station.id,
      nowMs: clock.nowMs(),
      points: [...new Set([...faces, ...others])],
      faces: faces.length,
      grid: rows * columns === faces.length ? `${rows}x${columns}` : '',
      place: fold.places.at(station.id, clock.nowMs()),
      surveys: shown.slice(-mostShown).reverse(),
    };
  }

  #soak(asked: Asked): SoakNow {
    this.#station(asked);
    const { plant, journal, fold, clock } = this.#collected;
    const fromMs = asked.integer('fromMs', { from: 0, to: Number.MAX_SAFE_INTEGER });
    const nowMs = clock.nowMs();
    if (nowMs - fromMs > longestSoakMs) {
      const found = new Date(fromMs).toISOString();
      throw new Refused(422, 'bad-input', 'fromMs', found, 'a soak that began within 12 h');
    }
    const points = asked.names('points', mostSurveyed);
    const setPointC = asked.number('setPointC', goalLimits.setPointC);
    const toleranceK = asked.number('toleranceK', goalLimits.toleranceK);
    const facts = { plant, acts: fold.instruments, journal };
    const soak = liveSoak(facts, points, fromMs, Math.max(fromMs, nowMs));
    if ('found' in soak) {
      const trouble = `${soak.point}: found ${soak.found}; expected ${soak.expected}`;
      return { figures: null, samples: 0, trouble };
    }
    const figures = survey(soak.points, setPointC, toleranceK);
    return { figures, samples: soak.samples, trouble: null };
  }

  /** What is to be done, before it is; the points may be the plant's own or names of a logger's columns. */
  #plan(station: Station, asked: Asked): Promise<Buffer> {
    const { plant, clock } = this.#collected;
    const points = asked.names('points', mostSurveyed);
    const gridText = asked.has('grid') ? asked.name('grid') : '';
    const grid = gridText === '' ? null : gridNamed(gridText);
    if (gridText !== '' && grid?.rows !== points.length / (grid?.columns ?? 0)) {
      const found = `${JSON.stringify(gridText.slice(0, 60))} for ${String(points.length)} points`;
      const expected = 'rows x columns, as many places as there are points: 3x3';
      throw new Refused(422, 'bad-input', 'grid', found, expected);
    }
    const nowMs = clock.nowMs();
    return surveyPlanPdf({
      station: station.title,
      setPointC: asked.number('setPointC', goalLimits.setPointC),
      toleranceK: asked.number('toleranceK', goalLimits.toleranceK),
      soakMin: asked.integer('soakMin', goalLimits.soakMin),
      from: asked.oneOf('from', ['live', 'file'], 'live'),
      ...{ grid, site: plant.site, atMs: nowMs },
      places: points.map((point) => this.#planned(point, nowMs)),
      by: asked.has('by') ? asked.name('by') : 'plant',
      language: asked.oneOf('language', printLanguages, 'en'),
    });
  }

  #planned(point: string, nowMs: number): PlannedPlace {
    const { plant, fold } = this.#collected;
    const fitting = fittedAt(fittingsOf(plant, fold.instruments).get(point), nowMs);
    const day = dayOfMs(nowMs);
    const known = fitting === null ? [] : calibrationsKnown(fitting, nowMs);
    const { certificate = null, due = null } = calibrationInForce(known, day) ?? {};
    return { point, instrument: fitting?.instrument.id ?? null, certificate, due };
  }

  #sheet(station: Station, asked: Asked): Promise<Buffer> {
    const name = asked.name('survey');
    const taken = this.of(station.id);
    const index = taken.findIndex(({ survey: id }) => id === name);
    const known = taken[index];
    if (known === undefined) throw unknown('survey', name, `a survey of ${station.id}`);
    const { figures, setPointC, toleranceK, grid, soak, by, samples, person, atMs } = known;
    return surveyPdf({
      title: `${name} · ${station.title} · ${new Date(atMs).toISOString().slice(0, 10)}`,
      ...{ figures, setPointC, toleranceK, grid, soak, by, person },
      comparison: beside(known, taken.slice(0, index)),
      sourceSha256: samples.sha256,
      language: asked.oneOf('language', printLanguages, 'en'),
      atMs: this.#collected.clock.nowMs(),
    });
  }
}

/** The last survey of the same points before one, compared. */
function beside(now: Known, earlier: readonly Known[]): SurveyShown['comparison'] {
  const last = earlier.filter((each) => isLike(each, now)).at(-1);
  if (last === undefined) return null;
  const { survey: name, atMs } = last;
  return { ...compareSurveys(now.figures, last.figures), survey: name, atMs };
}
