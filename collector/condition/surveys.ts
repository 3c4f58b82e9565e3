import type { SoakNow, StationSurveys, SurveyShown } from '@setwell/shared-models/api/heat-up';
import { longestSoakMs } from '@setwell/shared-models/api/survey';
import { survey } from '@setwell/shared-models/condition/survey';
import { isLike } from '@setwell/shared-models/condition/survey-evidence';
import {
  compareSurveys,
  offeredPlaceK,
  placeHalfWidthK,
} from '@setwell/shared-models/condition/survey-figures';
import { placeOfRecipe } from '@setwell/shared-models/condition/surveyed-place';
import { faceLayout } from '@setwell/shared-models/condition/face-layout';
import { measuresTemperature, type Station } from '@setwell/shared-models/plant/plant';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { SurveyTaken } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { surveyPdf } from '../export/survey-pdf.ts';
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
        path: '/surveys/{station}/{survey}/sheet',
        answer: async (asked) => {
          const body = await this.#sheet(this.#station(asked), asked.name('survey'));
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
    const points = asked.name('points').split(',');
    const [setPointC, toleranceK] = ['setPointC', 'toleranceK'].map((field) => {
      const value = Number(asked.name(field));
      if (Number.isFinite(value)) return value;
      throw new Refused(422, 'bad-input', field, asked.name(field).slice(0, 60), 'a number');
    }) as [number, number];
    const facts = { plant, acts: fold.instruments, journal };
    const soak = liveSoak(facts, points, fromMs, Math.max(fromMs, nowMs));
    if ('found' in soak) {
      const trouble = `${soak.point}: found ${soak.found}; expected ${soak.expected}`;
      return { figures: null, samples: 0, trouble };
    }
    const figures = survey(soak.points, setPointC, toleranceK);
    return { figures, samples: soak.samples, trouble: null };
  }

  #sheet(station: Station, name: string): Promise<Buffer> {
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
