import type {
  Handover,
  HeldLoad,
  OutOfService,
  Promised,
  StandIn,
  UnnamedClosing,
} from '@setwell/shared-models/api/handover';
import type { PointFitted } from '@setwell/shared-models/api/points';
import { openCalls, type FloorCall, type FloorLoad } from '@setwell/shared-models/api/floor';
import type { Disposition, HandoverRead } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { ScoreResult } from '@setwell/shared-models/score/shape';
import { CollectorError } from './collector-client.ts';
import { fittedPoints } from './fitted-points.ts';
import type { LoadView } from './load-view.ts';
import { Problem } from './problem.ts';
import type { Sources } from './reading-operations.ts';

/** What is told of decisions and readers: as far back as the longest shift [ms]. */
const lookedBackMs = 12 * 3_600_000;
/** Tests of the last days may still be due; older ones are the record's [ms]. */
const testsWithinMs = 3 * 24 * 3_600_000;
const testsLookedAt = 60;

/**
 * What one shift leaves to the next: a fold of what was recorded and of what runs. It asks nobody for
 * anything.
 */
export async function handoverOf(sources: Sources): Promise<Handover> {
  const { client, feed, follower, view } = sources;
  const { site, stations, loads } = feed.state;
  const log = follower.hello?.log;
  if (site === null || log === undefined) {
    throw new Problem(503, 'not-yet', 'The collector has not been met yet.');
  }
  const atMs = follower.nowMs();
  const open = inPlantOrder(
    Object.values(loads).filter((load) => load.state === 'open'),
    site.stations.map(({ id }) => id),
  );
  const calls = Object.values(feed.state.calls);
  const shift = follower.hello?.shift ?? null;
  const sinceMs = shift?.fromMs ?? atMs - lookedBackMs;
  const recent = view.entriesSince(log, sinceMs, ['disposition', 'handover-read']);
  const points = await fittedPoints(client);
  return {
    site: site.site,
    atMs,
    shift,
    inStations: open,
    held: view.heldLoads().map(heldLoad),
    unnamed: calls.flatMap(unnamedClosing),
    calls: openCalls(feed.state),
    shelved: calls.filter(({ cleared, shelved }) => cleared === null && shelved !== null),
    outOfService: [
      ...Object.values(stations).flatMap(({ station, service }): OutOfService[] =>
        service === null || service.state === 'in-service'
          ? []
          : [{ ...service, station, point: null }],
      ),
      ...(points ?? []).flatMap(pointOut),
    ],
    standIns: points?.flatMap(standIn) ?? null,
    silent: open.flatMap(({ station, load, silentPoints, blindSinceMs }) =>
      silentPoints.map((point) => ({ station, load, point, sinceMs: blindSinceMs })),
    ),
    promises: open.flatMap((load) => promised(load, atMs)),
    dueTests: await dueTests(sources, atMs),
    decisions: { sinceMs, ...decisionShare(recent, (load) => view.load(load)) },
    readBy: recent.flatMap(reader),
    upToN: view.last(log)?.n ?? -1,
  };
}

function pointOut({ point, station, withdrawn }: PointFitted): OutOfService[] {
  if (withdrawn === null) return [];
  const { by, sinceMs, untilMs, reason } = withdrawn;
  return [{ station, point, state: 'out-of-service', by, sinceMs, untilMs, reason }];
}

function standIn({ point, station, fallback }: PointFitted): StandIn[] {
  if (fallback === null) return [];
  const { standsIn, untilMs, reason } = fallback;
  return [{ point, station, standsIn, untilMs, reason }];
}

function inPlantOrder(loads: FloorLoad[], stations: string[]): FloorLoad[] {
  return [...loads].sort(
    (a, b) =>
      stations.indexOf(a.station) - stations.indexOf(b.station) ||
      a.startMs - b.startMs ||
      (a.load < b.load ? -1 : 1),
  );
}

function heldLoad({ id, lot, station, verdict, side, decisions }: LoadView): HeldLoad {
  const { hold, waiting, questioned } = decisions;
  return {
    load: id,
    lot,
    station,
    parts: hold?.parts ?? [],
    verdict,
    side,
    sinceMs: hold?.atMs ?? 0,
    by: hold?.by ?? '',
    rule: hold?.rule ?? null,
    reason: hold?.reason ?? '',
    waitsFor: waiting && { decision: waiting.decision, by: waiting.by, n: waiting.n },
    questioned,
  };
}

/** A closing that somebody was called for because nobody had named it. */
function unnamedClosing(call: FloorCall): UnnamedClosing[] {
  const { kind, cleared, station, values, raisedMs, id } = call;
  if (cleared !== null || kind !== 'closing-unnamed' || station === null) return [];
  const ms = (name: string): number | null => {
    const value = values[name];
    return typeof value === 'number' ? value : null;
  };
  const text = (name: string): string | null => {
    const value = values[name];
    return typeof value === 'string' ? value : null;
  };
  return [
    {
      id,
      station,
      opening: text('opening'),
      zones: text('zones')?.split(' ') ?? [],
      startEarliestMs: ms('startEarliestMs') ?? ms('sinceMs') ?? raisedMs,
      startLatestMs: ms('startLatestMs') ?? ms('sinceMs') ?? raisedMs,
      endEarliestMs: ms('endEarliestMs'),
      endLatestMs: ms('endLatestMs'),
      foundBy: text('foundBy') ?? '',
    },
  ];
}

function promised({ load, lot, station, decisions }: FloorLoad, atMs: number): Promised[] {
  const { promise } = decisions;
  return promise === null || promise.untilMs <= atMs ? [] : [{ load, lot, station, ...promise }];
}

/** Loads whose recipe asks for a test that nobody has entered. */
async function dueTests({ view, follower }: Sources, atMs: number): Promise<Handover['dueTests']> {
  const due: Handover['dueTests'] = [];
  for (const load of view.loads({ fromMs: atMs - testsWithinMs, limit: testsLookedAt })) {
    const sealed = load.revisions.at(-1);
    if (sealed === undefined) continue;
    try {
      const result = (await follower.blob(sealed.result.sha256)) as ScoreResult;
      for (const { kind, verdict, procedure } of result.requirements) {
        if (kind !== 'test' || verdict === 'in-window') continue;
        const { id, lot, station, endMs } = load;
        const sinceMs = endMs ?? load.startMs;
        due.push({ load: id, lot, station, method: procedure ?? '', sinceMs });
      }
    } catch (error) {
      // Its record cannot be fetched now: the next handover looks again.
      if (!(error instanceof CollectorError)) throw error;
    }
  }
  return due;
}

/** Decisions of people, and how many of them went against the verdict. */
function decisionShare(
  entries: Entry[],
  loadOf: (id: string) => LoadView | null,
): Omit<Handover['decisions'], 'sinceMs'> {
  let total = 0;
  let againstVerdict = 0;
  for (const { kind, body, about } of entries) {
    if (kind !== 'disposition') continue;
    const { decision, rule } = body as Disposition;
    if ((rule ?? null) !== null || decision === 'extend') continue;
    total += 1;
    const verdict = loadOf(about.load ?? '')?.verdict;
    const frees = decision === 'release' || decision === 'concession';
    if (verdict !== undefined && frees !== (verdict === 'in-window')) againstVerdict += 1;
  }
  return { total, againstVerdict };
}

function reader({ kind, by, at, n, body }: Entry): Handover['readBy'] {
  return kind === 'handover-read' && (body as HandoverRead).upToN <= n ? [{ by, atMs: at, n }] : [];
}
