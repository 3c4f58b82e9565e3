import { z } from 'zod';
import type { PointFitted } from '@setwell/shared-models/api/points';
import { foundKinds, type Found, type Searched } from '@setwell/shared-models/api/search';
import { isNearName } from '@setwell/shared-models/plant/near-name';
import { asPrinted, scannerLayouts } from '@setwell/shared-models/plant/scanner-layout';
import { fittedPoints } from './fitted-points.ts';
import { operation, type Operation } from './operation.ts';
import type { Sources } from './reading-operations.ts';

/** More are no answer: a longer text finds fewer. */
const shown = 60;
/** A scan has so many characters at least: a shorter text is nobody's other layout. */
const leastScanned = 4;
/** Lots that a slip may have meant: the newest, and those that are named. */
const lotsCompared = 1000;
const nearShown = 5;

type Within = <T>(value: T) => T;

/** One field for whatever bears a name: typed, or scanned. */
export function searchOperations(sources: Sources): Operation[] {
  return [
    operation({
      method: 'get',
      path: '/search',
      summary: 'Lots, loads, parts, stations, points, instruments and recipes by their name',
      query: z.strictObject({
        text: z.string().trim().min(1).max(120),
        /** What a scanner check has found on the asking device. */
        layout: z.enum(scannerLayouts).optional(),
      }),
      answer: 'Searched',
      handle: ({ query, within }) => searched(sources, query, within),
    }),
  ];
}

async function searched(
  sources: Sources,
  { text, layout }: { text: string; layout?: (typeof scannerLayouts)[number] | undefined },
  within: Within,
): Promise<Searched> {
  const fitted = await fittedPoints(sources.client);
  const points = fitted?.flatMap(namesAt) ?? null;
  const others = [...recipesOf(sources), ...stationsOf(sources), ...(points ?? [])];
  const bearing = (name: string): Found[] =>
    within(inOrder([...sources.view.namedExactly(name), ...named(others, name)]));
  const answer = { isCut: false, near: [], withoutPoints: points === null };
  const checked = layout === undefined ? null : asPrinted(text, layout);
  for (const name of new Set([checked ?? text, text])) {
    const found = bearing(name);
    if (found.length > 0) return { text: name, exact: true, found, ...answer };
  }
  const read = text.length < leastScanned ? null : onlyReading(text, bearing);
  if (read !== null) return { ...read, exact: true, ...answer };
  const holding = others.filter(({ words }) => words.some((word) => holds(word, text)));
  const found = within(
    inOrder([...sources.view.named(text, shown + 1), ...holding.map(({ found }) => found)]),
  );
  const same = found.filter(({ id }) => id.toLowerCase() === text.toLowerCase());
  if (same.length > 0) return { text, exact: true, found: same, ...answer };
  return {
    ...{ text, exact: false, found: found.slice(0, shown) },
    isCut: found.length > shown,
    near: found.length > 0 ? [] : within(nearLots(sources, text)),
    withoutPoints: points === null,
  };
}

/** What a scanner of another layout has typed, where exactly one reading of it is known. */
function onlyReading(
  typed: string,
  bearing: (name: string) => Found[],
): { text: string; found: Found[] } | null {
  const readings = new Set(scannerLayouts.map((layout) => asPrinted(typed, layout)));
  readings.delete(typed);
  const known = [...readings].flatMap((text) => {
    const found = text === null ? [] : bearing(text);
    return text === null || found.length === 0 ? [] : [{ text, found }];
  });
  return known.length === 1 ? (known[0] ?? null) : null;
}

/** What is known beside lots, loads and parts, with every word it goes by. */
interface Other {
  found: Found;
  words: string[];
}

const named = (others: Other[], name: string): Found[] =>
  others.filter(({ words }) => words.includes(name)).map(({ found }) => found);

const holds = (word: string, text: string): boolean =>
  word.toLowerCase().includes(text.toLowerCase());

function inOrder(found: Found[]): Found[] {
  const rank = ({ kind }: Found): number => foundKinds.indexOf(kind);
  return found.sort((a, b) => rank(a) - rank(b));
}

function recipesOf({ feed, view }: Sources): Other[] {
  const titles = new Map((feed.state.site?.recipes ?? []).map(({ id, title }) => [id, title]));
  const ids = new Set([...titles.keys(), ...view.recipes().map(({ id }) => id)]);
  return [...ids].map((id) => ({
    found: { kind: 'recipe', id, at: id, stations: [], lastMs: null },
    words: [id, titles.get(id) ?? id],
  }));
}

function stationsOf({ feed }: Sources): Other[] {
  return (feed.state.site?.stations ?? []).map(({ id, title }) => ({
    found: { kind: 'station', id, at: id, stations: [id], lastMs: null },
    words: [id, title],
  }));
}

/** A point, and what is fitted there. */
function namesAt({ point, station, topic, fitted }: PointFitted): Other[] {
  const at = { at: point, stations: station === null ? [] : [station], lastMs: null };
  const seat: Other = { found: { kind: 'point', id: point, ...at }, words: [point, topic] };
  if (fitted === null) return [seat];
  const { instrument, serial, certificate } = fitted;
  const words = [instrument, serial, certificate?.certificate].filter((word) => word != null);
  // Where both have one name they are one to whoever looks for it.
  if (instrument === point) return [{ ...seat, words: [...seat.words, ...words] }];
  return [seat, { found: { kind: 'instrument', id: instrument, ...at }, words }];
}

function nearLots({ view }: Sources, text: string): Found[] {
  const near = view.lots(lotsCompared).filter(({ lot }) => lot !== '' && isNearName(text, lot));
  return near.slice(0, nearShown).map(({ lot, stations, lastMs }) => ({
    ...{ kind: 'lot', id: lot, at: lot },
    ...{ stations, lastMs },
  }));
}
