import { median } from 'simple-statistics';
import type {
  FaceCell,
  GoesNext,
  HeatedNow,
  HeatUpReport,
  ProposedLimit,
  WorkItem,
} from '../api/heat-up.ts';
import type { SurveyTaken, WorkClosed, WorkDone, WorkPlanned } from '../record/bodies.ts';
import { likelyCauses } from './causes.ts';
import type { FacePlace } from './face-layout.ts';
import { sidesOf } from './face-layout.ts';
import { featureNames } from './feature.ts';
import type { FeatureName, FeatureRow } from './feature.ts';
import type { HeatUp } from './heat-up.ts';
import { likeStart } from './like-start.ts';
import { outlook } from './outlook.ts';
import { proposals } from './proposal.ts';
import type { LimitKey, Proposal } from './proposal.ts';
import { repairEvidence } from './repair.ts';
import { surveyEvidence } from './survey-evidence.ts';
import { featureCondition, leastUsualRows } from './zone-condition.ts';
import type { FeatureCondition } from './zone-condition.ts';

/** A job as the ledger tells it, with the numbers of its entries. */
export interface WorkAccount {
  planned: WorkPlanned | null;
  plannedN: number | null;
  done: WorkDone | null;
  doneN: number | null;
  closed: WorkClosed | null;
}

export interface ReportInput {
  station: string;
  title: string;
  kind: string;
  nowMs: number;
  readyC: number | null;
  layout: readonly FacePlace[];
  /** Faces that a controller holds: where they hold says nothing of them. */
  controlled: ReadonlySet<string>;
  /** What its cycles say; the part that takes long, and changes with a cycle alone. */
  summary: StationSummary;
  /** When it will be ready, while it heats up. */
  expectedReadyMs: number | null;
  /** Over and under way, by start; at most one under way a face. */
  heatUps: readonly HeatUp[];
  closings: HeatUpReport['closings'];
  work: readonly WorkAccount[];
  /** In order of time. */
  surveys: readonly SurveyTaken[];
  nowC: ReadonlyMap<string, number>;
  silentSinceMs: ReadonlyMap<string, number>;
  due: HeatUpReport['due'];
  readUpTo: number;
  /** What counts now, of the plant's files and of what people took over. */
  limitOf: (key: LimitKey) => Omit<ProposedLimit, keyof Proposal>;
  /** Level at which the planned time stops proving, by face; null: no recipe tells. */
  costOf: (point: string, levelC: number) => Omit<NonNullable<GoesNext['cost']>, 'outlook'> | null;
}

/** Heat-ups of a station's faces belong together when they began within so much of each other [ms]. */
const togetherMs = 30 * 60_000;
/** Excluded heat-ups that are listed. */
const mostExcluded = 12;

/** Rows by feature and point, in order of time. */
export type Series = Map<string, FeatureRow[]>;

/** What a station's cycles say, whatever is read of it at the moment. */
export interface StationSummary {
  series: Series;
  conditions: FeatureCondition[];
  proposals: Proposal[];
}

/**
 * @param rows all features of the station, each in order of time
 * @param controlled faces that a controller holds
 */
export function summaryOf(
  rows: readonly FeatureRow[],
  controlled: ReadonlySet<string>,
  work: readonly WorkAccount[],
): StationSummary {
  const series = seriesOf(rows);
  const points = [...new Set([...series.values()].flatMap(([row]) => (row ? [row.point] : [])))];
  const conditions = points.flatMap((point) => conditionsOf(point, series, { controlled, work }));
  const valuesOf = (feature: FeatureName): number[] => {
    const values: number[] = [];
    for (const own of series.values()) {
      if (own[0]?.feature === feature) for (const { value } of own) values.push(value);
    }
    return values;
  };
  return { series, conditions, proposals: proposals(valuesOf) };
}

function seriesOf(rows: readonly FeatureRow[]): Series {
  const series: Series = new Map();
  let own: FeatureRow[] = [];
  for (const row of rows) {
    // Rows of one face mostly follow one another: a year has nearly a million of them.
    const last = own.at(-1);
    if (last?.feature !== row.feature || last.point !== row.point) {
      const key = `${row.feature} ${row.point}`;
      own = series.get(key) ?? [];
      series.set(key, own);
    }
    own.push(row);
  }
  return series;
}

/** When work was done that a point's baseline begins anew with [ms]. */
export function restartsOf(point: string, work: readonly WorkAccount[]): number[] {
  return work.flatMap(({ done }) =>
    done !== null && (done.points.length === 0 || done.points.includes(point)) ? [done.doneMs] : [],
  );
}

/** Everything the Heat-up screen says of one station. */
export function stationReport(input: ReportInput): HeatUpReport {
  const { series, conditions, proposals: proposed } = input.summary;
  const newest = newestHeatUp(input, series);
  const faces = input.layout.map((place) => cellOf(place, conditions, input));
  const facePoints = new Set(input.layout.map(({ point }) => point));
  return {
    station: input.station,
    title: input.title,
    kind: input.kind,
    nowMs: input.nowMs,
    readyC: input.readyC,
    newest,
    heatUps: heatUpsOf(series, input),
    faces,
    figures: conditions.filter(({ point }) => !facePoints.has(point)),
    goesNext: goesNext(conditions, facePoints, input),
    causes: likelyCauses({ conditions, sides: sidesOf(input.layout) }),
    work: input.work.map((account) => workItem(account, series, facePoints, input.surveys)),
    proposals: proposed.map((each) => ({ ...each, ...input.limitOf(each.key) })),
    excluded: input.heatUps
      .flatMap(({ point, startMs, interrupted }) =>
        interrupted === null ? [] : [{ point, startMs, because: interrupted }],
      )
      .slice(-mostExcluded)
      .reverse(),
    closings: input.closings,
    due: input.due,
    readUpTo: input.readUpTo,
  };
}

/** Each feature of a point. Where a controller holds a face, where it holds says nothing of it. */
function conditionsOf(
  point: string,
  series: Series,
  { controlled, work }: Pick<ReportInput, 'controlled' | 'work'>,
): FeatureCondition[] {
  const restarts = restartsOf(point, work);
  return featureNames.flatMap((feature) => {
    if (feature === 'hold-level' && controlled.has(point)) return [];
    const condition = featureCondition(series.get(`${feature} ${point}`) ?? [], restarts);
    return condition === null ? [] : [condition];
  });
}

/** What a zone is judged by; the others tell why, and of what the charge was. */
const judgedFeatures: FeatureName[] = [
  'minutes-to-ready',
  'rate-at-60',
  'rate-at-100',
  'hold-level',
  'recovery',
  'ripple',
  'open-circuits',
  'idle-loss',
  'day-swing',
];

/** What weakens most, in its own scatter: features of different units have nothing else in common. */
function severity({ state, newest, usual }: FeatureCondition): number {
  if (state !== 'weakens' || newest === null || usual === null) return 0;
  const width = Math.max(1e-6, usual.high - usual.low);
  return Math.abs(newest.value - (usual.high + usual.low) / 2) / width;
}

function worstOf(conditions: readonly FeatureCondition[]): FeatureCondition | null {
  const order = ['weakens', 'changed', 'better', 'as-it-was', 'too-few'] as const;
  const rank = (each: FeatureCondition) => order.indexOf(each.state);
  const sorted = [...conditions].sort((a, b) => rank(a) - rank(b) || severity(b) - severity(a));
  return sorted[0] ?? null;
}

function cellOf(
  { point, zone, row, rows }: FacePlace,
  conditions: readonly FeatureCondition[],
  input: ReportInput,
): FaceCell {
  const own = conditions.filter((each) => each.point === point);
  const find = (feature: FeatureName) => own.find((each) => each.feature === feature) ?? null;
  const judged = own.filter(({ feature }) => judgedFeatures.includes(feature));
  const worst = worstOf(judged);
  const minutes = find('minutes-to-ready');
  const hold = find('hold-level') ?? find('day-level');
  const heatUp = input.heatUps.filter((each) => each.point === point).at(-1);
  const silentSinceMs = input.silentSinceMs.get(point) ?? null;
  const ready = heatUp?.readyMs ?? null;
  return {
    point,
    zone,
    row,
    rows,
    role: input.controlled.has(point) ? 'control' : 'watch',
    nowC: input.nowC.get(point) ?? null,
    silentSinceMs,
    minutes: heatUp === undefined || ready === null ? null : (ready - heatUp.startMs) / 60_000,
    minutesUsual: minutes?.usual ?? null,
    holdC: hold?.newest?.value ?? null,
    holdUsual: hold?.usual ?? null,
    state: silentSinceMs !== null ? 'silent' : (worst?.state ?? 'too-few'),
    because: worst !== null && worst.state === 'weakens' ? worst.feature : null,
    sinceMs: worst?.sinceMs ?? null,
    cycles: minutes?.cycles ?? worst?.cycles ?? 0,
    baselineSinceMs: (minutes ?? worst)?.baselineSinceMs ?? null,
    baselineCycles: (minutes ?? worst)?.baselineCycles ?? 0,
  };
}

function heatUpsOf(series: Series, { layout }: ReportInput): number {
  const counts = layout.map(({ point }) => series.get(`minutes-to-ready ${point}`)?.length ?? 0);
  return Math.max(0, ...counts);
}

/** The newest heat-up of the station: those of its faces that began together. */
function newestHeatUp(input: ReportInput, series: Series): HeatedNow {
  const { heatUps, layout, nowC, readyC } = input;
  const last = heatUps.at(-1);
  const none: HeatedNow = {
    startMs: null,
    startC: null,
    readyMs: null,
    usuallyReadyMs: null,
    expectedReadyMs: null,
    lastPoint: null,
    share: null,
    interrupted: null,
  };
  if (last === undefined) return none;
  const together = heatUps.filter(({ startMs }) => Math.abs(startMs - last.startMs) <= togetherMs);
  const newestOf = new Map(together.map((each) => [each.point, each]));
  const all = layout.flatMap(({ point }) => newestOf.get(point) ?? []);
  const startMs = Math.min(...all.map((each) => each.startMs));
  const startC = Math.min(...all.map((each) => each.startC));
  const interrupted = all.find((each) => each.interrupted !== null)?.interrupted ?? null;
  const unready = all.filter(({ readyMs }) => readyMs === null);
  const slowest = all.reduce((a, b) => ((b.readyMs ?? 0) > (a.readyMs ?? 0) ? b : a), last);
  const coldest = unready.reduce<HeatUp | null>(
    (a, b) => (a === null || (nowC.get(b.point) ?? 0) < (nowC.get(a.point) ?? 0) ? b : a),
    null,
  );
  const readyMs = unready.length > 0 ? null : slowest.readyMs;
  const usualMin = usualMinutes(input, series, startC);
  const c = coldest === null ? null : (nowC.get(coldest.point) ?? null);
  return {
    startMs,
    startC,
    readyMs,
    usuallyReadyMs: usualMin === null ? null : startMs + usualMin * 60_000,
    expectedReadyMs: interrupted === null && unready.length > 0 ? input.expectedReadyMs : null,
    lastPoint: (coldest ?? slowest).point,
    share:
      c === null || readyC === null || interrupted !== null
        ? null
        : Math.min(1, Math.max(0, (c - startC) / (readyC - startC))),
    interrupted,
  };
}

/** Minutes until the slowest face was ready, as they usually are after such a start; the first of them count. */
export function usualMinutes(
  { layout, work }: Pick<ReportInput, 'layout' | 'work'>,
  series: Series,
  startC: number,
): number | null {
  const each = layout.flatMap(({ point }) => {
    const restartMs = restartsOf(point, work).reduce((a, b) => Math.max(a, b), -Infinity);
    const all = series.get(`minutes-to-ready ${point}`) ?? [];
    const since = all.filter(({ atMs }) => atMs >= restartMs);
    const rows = since.length < leastUsualRows ? all : since;
    if (rows.length < leastUsualRows) return [];
    const first = rows.slice(0, 20);
    const alike = likeStart([...first, { ...(first[0] as FeatureRow), value: 0, startC }], 20);
    // What the last, imagined row was moved by is what its own start costs.
    const moved = -(alike.values.at(-1) ?? 0);
    return [median(alike.values.slice(0, -1)) + moved];
  });
  return each.length === 0 ? null : Math.max(...each);
}

function goesNext(
  conditions: readonly FeatureCondition[],
  faces: ReadonlySet<string>,
  { costOf }: ReportInput,
): GoesNext | null {
  const weakening = conditions.filter(
    (each) =>
      faces.has(each.point) &&
      each.state === 'weakens' &&
      each.trend !== null &&
      judgedFeatures.includes(each.feature),
  );
  const options = weakening.map((condition): GoesNext => {
    const level = condition.feature === 'hold-level' ? condition.newest?.value : undefined;
    const cost = level === undefined ? null : costOf(condition.point, level);
    const then = cost === null ? null : outlook(condition, cost.limitC);
    return {
      point: condition.point,
      condition,
      cost: cost === null ? null : { ...cost, outlook: then },
    };
  });
  const whenMs = ({ cost }: GoesNext) => cost?.outlook?.atMs ?? Infinity;
  // First what costs soonest; where nothing tells a cost, what has moved farthest from its own past.
  options.sort((a, b) => {
    const [x, y] = [whenMs(a), whenMs(b)];
    return x === y ? severity(b.condition) - severity(a.condition) : x - y;
  });
  return options[0] ?? null;
}

/** Features by which a repair is judged. */
const judgedBy: FeatureName[] = ['minutes-to-ready', 'hold-level', 'recovery', 'rate-at-100'];

/** What a job can be closed by. */
export type WorkEvidence = Pick<WorkItem, 'says' | 'evidence' | 'survey'>;

/** One job with what came after it beside what was before. */
export function workItem(
  account: WorkAccount,
  series: Series,
  facePoints: ReadonlySet<string>,
  surveys: readonly SurveyTaken[],
): WorkItem {
  const { done } = account;
  if (done === null) return { ...account, evidence: [], survey: null, says: null };
  const survey = surveyEvidence(surveys, done.doneMs);
  const points = done.points.length === 0 ? [...facePoints] : done.points;
  const evidence = points.flatMap((point) =>
    judgedBy.flatMap((feature) => {
      const rows = series.get(`${feature} ${point}`) ?? [];
      return repairEvidence(rows, done.doneMs) ?? [];
    }),
  );
  const shown = survey === null || survey.says === 'wait' ? evidence : [...evidence, survey];
  const has = (says: string) => shown.some((each) => each.says === says);
  const says = has('wait') || shown.length === 0 ? 'wait' : null;
  return {
    ...account,
    evidence,
    survey,
    says: says ?? (has('better') && !has('worse') ? 'proven' : 'not-proven'),
  };
}
