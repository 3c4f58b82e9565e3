import { createHash } from 'node:crypto';
import { z } from 'zod';
import type { PointNow, ReadingSeries } from '@setwell/shared-models/api/collector';
import type {
  Completeness,
  RecordRow,
  RecordSample,
  RecordsFound,
  Trail,
} from '@setwell/shared-models/api/records';
import type { EntryKind } from '@setwell/shared-models/record/entry';
import { hourMs, numberGaps, stationHours } from '@setwell/shared-models/record/completeness';
import { settingsThen } from '@setwell/shared-models/record/settings-then';
import { lotFile } from '@setwell/shared-models/record/lot-file';
import type { LoadView } from './load-view.ts';
import { operation, type Operation } from './operation.ts';
import { Problem } from './problem.ts';
import type { Sources } from './reading-operations.ts';

const timeMs = z.coerce.number().int().min(0).max(8.64e15);
const name = z.string().min(1).max(120);
/** Of one question: a quarter of two presses is some 4,000 loads. */
const mostLoads = 5_000;
const rowsShown = 500;
/** Rights and recipes are set some times a day: of thirty years. */
const mostSettings = 50_000;
/** Hours are told for a week at a time: a longer band could not be read. */
const mostHours = 8 * 24;

const exceptionKinds: EntryKind[] = [
  'disposition',
  'load-corrected',
  'load-faulted',
  'readings-dropped',
  'clock-stepped',
  'session-lost',
  'log-continued',
  'key-changed',
  'model-withdrawn',
  'legal-hold-set',
  'legal-hold-lifted',
  'lot-file-dropped',
];
const settingKinds: EntryKind[] = [
  'person-granted',
  'person-revoked',
  'setup-offered',
  'recipe-proposed',
  'recipe-approved',
  'recipe-withdrawn',
  'plant-revised',
];

const period = { from: timeMs, to: timeMs };

/** What an auditor asks: is it all here, and what happened? */
export function recordOperations(sources: Sources): Operation[] {
  return [
    operation({
      method: 'get',
      path: '/records',
      summary: 'Loads of a period by lot, part, load, station, recipe or person',
      query: z.strictObject({
        ...period,
        text: z.string().max(120).default(''),
        verdict: z.enum(['in-window', 'under', 'over', 'unproven']).optional(),
      }),
      answer: 'RecordsFound',
      handle: ({ query }) => found(sources, query),
    }),
    operation({
      method: 'get',
      path: '/records/completeness',
      summary: 'Load numbers without a gap, each hour of each station, all exceptions of a period',
      query: z.strictObject(period),
      answer: 'Completeness',
      handle: ({ query }) => completeness(sources, query.from, query.to),
    }),
    operation({
      method: 'get',
      path: '/records/sample',
      summary: 'Loads of a period drawn by a seed that the auditor chooses',
      query: z.strictObject({
        ...period,
        seed: z.string().min(1).max(120),
        count: z.coerce.number().int().min(1).max(200).default(20),
      }),
      answer: 'RecordSample',
      handle: ({ query }) => sample(sources, query),
    }),
    operation({
      method: 'get',
      path: '/records/trail',
      summary: 'The audit trail of a lot, and its file as it stood after an entry',
      query: z.strictObject({
        lot: name,
        asOf: z.coerce.number().int().min(0).optional(),
      }),
      answer: 'Trail',
      handle: ({ query }) => trail(sources, query.lot, query.asOf ?? null),
    }),
  ];
}

function checkPeriod(fromMs: number, toMs: number): void {
  if (toMs >= fromMs) return;
  throw new Problem(422, 'bad-input', 'query field "to": before "from"', { field: 'to' });
}

function loadsOf({ view }: Sources, fromMs: number, toMs: number, verdict?: string) {
  checkPeriod(fromMs, toMs);
  return view.loads({ fromMs, toMs, verdict, limit: mostLoads });
}

function found(
  sources: Sources,
  {
    from,
    to,
    text,
    verdict,
  }: { from: number; to: number; text: string; verdict?: string | undefined },
): RecordsFound {
  const loads = loadsOf(sources, from, to, verdict);
  const wanted = text.trim().toLowerCase();
  const byPerson = wanted === '' ? new Set<string>() : sources.view.loadsOfPerson(text.trim());
  const rows = loads.filter((load) => {
    const { id, lot, parts, station, recipe } = load;
    const words = [id, lot, station, recipe?.id ?? '', ...parts];
    return byPerson.has(id) || words.some((word) => word.toLowerCase().includes(wanted));
  });
  return {
    rows: rows.slice(0, rowsShown).map(rowOf),
    lookedAt: loads.length,
    isCut: loads.length === mostLoads || rows.length > rowsShown,
  };
}

function rowOf(load: LoadView): RecordRow {
  const { id, station, lot, parts, recipe, startMs, endMs, state, verdict, revisions } = load;
  return {
    ...{ load: id, station, lot, parts, startMs, endMs, state, verdict },
    recipe: recipe && `${recipe.id}@${String(recipe.revision)}`,
    revisions: revisions.length,
  };
}

async function completeness(sources: Sources, fromMs: number, toMs: number): Promise<Completeness> {
  const { view, feed, client } = sources;
  checkPeriod(fromMs, toMs);
  const points = (await client.ask('/points')) as PointNow[];
  const signals = new Map(points.map(({ point, signal }) => [point, signal]));
  const from = fromMs - (fromMs % hourMs);
  const to = Math.min(toMs, from + mostHours * hourMs);
  const lying = view.lying(from, to);
  const stations = [];
  for (const station of feed.state.site?.stations ?? []) {
    const own = station.zones.flatMap(({ upper, lower, air }) => [upper, lower, air]);
    const celsius = [...new Set(own)].filter(
      (point): point is string => point !== null && signals.get(point) === 'celsius',
    );
    const greatest = await greatestOf(sources, celsius, from, to);
    const heats = station.kind === 'press' || station.kind === 'oven';
    const hours = stationHours(
      ...([from, to, lying.filter((load) => load.station === station.id)] as const),
      view.outOfService(station.id),
      (at) => (celsius.length === 0 ? undefined : (greatest.get(at) ?? null)),
      heats,
    );
    stations.push({ station: station.id, kind: station.kind, hours });
  }
  const notInWindow = view.notInWindow(fromMs, toMs, rowsShown);
  return {
    ...{ fromMs, toMs, stations },
    numbers: numberGaps(view.loadNames(fromMs, toMs)),
    notInWindow: { ...notInWindow, rows: notInWindow.rows.map(rowOf) },
    exceptions: view.entriesOfKinds(exceptionKinds, fromMs, toMs, rowsShown),
    settings: view.entriesOfKinds(settingKinds, fromMs, toMs, rowsShown),
    then: settingsThen(view.entriesOfKinds(settingKinds, 0, toMs, mostSettings).rows, toMs),
  };
}

/** Greatest reading of all points in each hour that has one. */
async function greatestOf(
  { client }: Sources,
  points: string[],
  fromMs: number,
  toMs: number,
): Promise<Map<number, number>> {
  const greatest = new Map<number, number>();
  const hours = Math.round((toMs - fromMs) / hourMs);
  if (hours < 1) return greatest;
  for (const point of points) {
    const asked = new URLSearchParams({
      ...{ point, from: String(fromMs), to: String(fromMs + hours * hourMs) },
      points: String(hours),
    });
    const { steps } = (await client.ask(`/readings?${asked.toString()}`)) as ReadingSeries;
    for (const { t, max } of steps) {
      if (max === null) continue;
      const at = t - (t % hourMs);
      greatest.set(at, Math.max(max, greatest.get(at) ?? -Infinity));
    }
  }
  return greatest;
}

/** Bad ones first; within them and after them by the rank of the seed, which anybody can compute. */
function sample(
  { view }: Sources,
  { from, to, seed, count }: { from: number; to: number; seed: string; count: number },
): RecordSample {
  checkPeriod(from, to);
  const names = view.endedNames(from, to);
  const ranked = names.map((load) => ({
    load,
    rank: createHash('sha256').update(`${seed}\n${load}`).digest('hex'),
  }));
  ranked.sort((a, b) => (a.rank < b.rank ? -1 : 1));
  const drawn = ranked.slice(0, count).flatMap(({ load, rank }) => {
    const found = view.load(load);
    return found === null ? [] : [{ ...rowOf(found), rank }];
  });
  const isBad = ({ verdict }: RecordRow) => (verdict === 'in-window' ? 1 : 0);
  drawn.sort((a, b) => isBad(a) - isBad(b) || (a.rank < b.rank ? -1 : 1));
  return { seed, of: names.length, rows: drawn };
}

function trail({ view, follower, feed }: Sources, lot: string, asOf: number | null): Trail {
  const log = follower.hello?.log ?? '';
  const entries = view.entriesOfLot(lot);
  if (entries.length === 0) throw new Problem(404, 'not-found', `no lot "${lot}"`);
  const known = asOf === null ? entries : entries.filter(({ n }) => n <= asOf);
  const site = feed.state.site?.site;
  return {
    ...{ log, entries },
    lastN: view.last(log)?.n ?? 0,
    file:
      site && known.length > 0
        ? { ...lotFile(lot, site, log, known, () => null), entries: [] }
        : null,
  };
}
