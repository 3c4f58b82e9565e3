import type { Recipe } from '../plant/recipe-schema.ts';
import type { CallRaised } from '../record/bodies.ts';
import type { Wish } from './wish.ts';

/** A measured face as it stands. */
export interface FaceNow {
  point: string;
  celsius: number;
  tMs: number;
  /** Over the last two minutes [K/min]; null where too little was read. */
  slopeKPerMin: number | null;
  /** Twice its resolution: a smaller change is none [K]. */
  leastK: number;
  /** Since when it has been silent [ms]; null while it speaks. */
  silentSinceMs: number | null;
}

/** A load in the station, as far as its temperatures and its pressure go. */
export interface RunningLoad {
  load: string;
  lot: string;
  startMs: number;
  plannedEndMs: number | null;
  recipe: Recipe | null;
  /** Points of the faces of its zones. */
  points: string[];
  /** Faces that have been back in their limits since the charge. */
  recovered: ReadonlySet<string>;
  /** Pressure is let off, by its marks. */
  released: boolean;
}

export interface StationFacts {
  station: string;
  nowMs: number;
  condition: 'cold' | 'heating' | 'empty' | 'loaded' | 'no-readings';
  /** Since when [ms]. */
  sinceMs: number | null;
  /** From where on it counts as hot [°C]; null: it is never heated up. */
  readyC: number | null;
  faces: FaceNow[];
  loads: RunningLoad[];
  /** The ram's gauge: what it shows, and the most it has held since the newest start. */
  pressure: {
    point: string;
    signal: string;
    value: number;
    heldValue: number;
    tMs: number;
  } | null;
}

/** Without a limit in the recipe the dip of a charge is over after so long [ms]. */
const usualRecoveryMs = 10 * 60_000;
/** All faces together fall faster than this: their supply is gone, not a platen's own swing [K/min]. */
const failingKPerMin = 0.75;
/** A supply is more than one face. */
const leastFaces = 2;
/** A ram that has lost this share of what it held does not press any more. */
const lostShare = 0.2;
/** Hot and empty for so long is heat for nothing [ms]. */
const idleMs = 30 * 60_000;
/** What is beyond its limits by this share of their width is outside; within them it is back [1]. */
const deadbandShare = 0.1;

/** What somebody is called for by a station's readings, whichever load is in it. */
export function callsOfStation(facts: StationFacts): Wish[] {
  return [
    stationSilent(facts),
    supplyFailing(facts),
    recoveryLate(facts),
    outsideLimits('low', facts),
    outsideLimits('high', facts),
    ...facts.loads.map((load) => pressureLost(load, facts)),
    idleHot(facts),
  ];
}

/** Calls that another one stands for: the pump's trip is one call, not sixteen. */
export const standsFor: Partial<Record<CallRaised['kind'], readonly CallRaised['kind'][]>> = {
  'station-silent': ['sensor-silent', 'point-fault'],
  'supply-failing': ['outside-limits', 'recovery-late', 'short-at-plan', 'waiting-will-not-help'],
};

function stationSilent({ station, faces, loads }: StationFacts): Wish {
  const silent = faces.map(({ silentSinceMs }) => silentSinceMs);
  const since = silent.filter((ms) => ms !== null);
  const all = faces.length >= leastFaces && since.length === faces.length;
  const sinceMs = all ? Math.max(...since) : null;
  return {
    ...ofStation('station-silent', station, loads),
    present: loads.length === 0 ? false : all,
    raised: raised(station, loads, { sinceMs, points: faces.length }),
  };
}

/** Every face falls though the charge is long in: oil, current or steam has stopped. */
function supplyFailing(facts: StationFacts): Wish {
  const { station, faces, loads, nowMs } = facts;
  const holding = loads.filter((load) => nowMs >= recoveryEndMs(load));
  const heard = faces.filter(({ silentSinceMs }) => silentSinceMs === null);
  const falling = heard.filter(({ slopeKPerMin }) => (slopeKPerMin ?? 0) <= -failingKPerMin);
  const known =
    heard.length >= leastFaces && heard.every(({ slopeKPerMin }) => slopeKPerMin !== null);
  const slope =
    falling.length === 0 ? 0 : Math.max(...falling.map((face) => face.slopeKPerMin ?? 0));
  const inRecovery = loads.length > 0 && holding.length < loads.length;
  return {
    ...ofStation('supply-failing', station, loads),
    present:
      loads.length === 0 ? false : !known || inRecovery ? null : falling.length === heard.length,
    raised: raised(station, loads, { fallKPerMin: -slope, faces: falling.length }),
  };
}

/** A face as a load's limits ask of it; those that are silent, and those under nothing, are not asked. */
interface AskedFace {
  face: FaceNow;
  load: RunningLoad;
}

function askedFaces(facts: StationFacts): AskedFace[] {
  return facts.faces.flatMap((face) => {
    const load = loadAt(face, facts);
    return load === undefined || face.silentSinceMs !== null ? [] : [{ face, load }];
  });
}

type Limits = NonNullable<Recipe['limits']>[number];

function limitOf<Phase extends Limits['phase']>(
  { recipe }: RunningLoad,
  phase: Phase,
): Extract<Limits, { phase: Phase }> | null {
  const found = recipe?.limits?.find((limit) => limit.phase === phase);
  return (found as Extract<Limits, { phase: Phase }> | undefined) ?? null;
}

/** The first of them is named, and how many there are: what holds them all down is one cause. */
function recoveryLate(facts: StationFacts): Wish {
  const { station, nowMs } = facts;
  const asked = askedFaces(facts).filter(({ load }) => limitOf(load, 'recovery') !== null);
  const evaluated = asked.filter(({ load }) => nowMs > recoveryEndMs(load));
  const late = evaluated.filter(({ face, load }) => !load.recovered.has(face.point));
  const back = asked.length > 0 && asked.every(({ face, load }) => load.recovered.has(face.point));
  const first = late[0] ?? asked[0];
  const limit = first === undefined ? null : limitOf(first.load, 'recovery');
  return {
    ...ofFaces('recovery-late', station, station, first),
    // Nothing is in it, or the dip is still allowed: nothing is known either way.
    present: late.length > 0 ? true : back ? false : null,
    raised: ofPoint(station, first, late, {
      withinMin: limit?.withinMin ?? null,
      sinceMs: first === undefined ? null : recoveryEndMs(first.load),
    }),
  };
}

/**
 * Outside the recipe's limits while they hold; the dip under a cold charge is no call, nor is a face that
 * has not come back from it: that one recovers late. All faces of a side are one cause.
 */
function outsideLimits(side: 'low' | 'high', facts: StationFacts): Wish {
  const { station, nowMs } = facts;
  const asked = askedFaces(facts).filter(
    ({ face, load }) =>
      limitOf(load, 'hold') !== null &&
      nowMs >= recoveryEndMs(load) &&
      (limitOf(load, 'recovery') === null || load.recovered.has(face.point)),
  );
  const beyond = asked.map((each) => ({ ...each, byK: beyondK(each, side) }));
  const outside = beyond.filter(({ byK, ...each }) => byK > bandK(each));
  const [first = beyond[0]] = [...outside].sort((a, b) => b.byK - a.byK);
  const hold = first === undefined ? null : limitOf(first.load, 'hold');
  const inside = beyond.length > 0 && beyond.every(({ byK }) => byK <= 0);
  return {
    ...ofFaces('outside-limits', `${station}.${side}`, station, first),
    present: outside.length > 0 ? true : inside ? false : null,
    raised: ofPoint(station, first, outside, {
      ...{ phase: 'hold', side },
      minC: hold?.minC ?? null,
      maxC: hold?.maxC ?? null,
    }),
  };
}

/** How far a face lies beyond its limit on a side [K]; negative: inside. */
function beyondK({ face, load }: AskedFace, side: 'low' | 'high'): number {
  const hold = limitOf(load, 'hold');
  if (hold === null) return -Infinity;
  return side === 'low' ? hold.minC - face.celsius : face.celsius - hold.maxC;
}

function bandK({ face, load }: AskedFace): number {
  const hold = limitOf(load, 'hold');
  return hold === null ? Infinity : Math.max(face.leastK, deadbandShare * (hold.maxC - hold.minC));
}

function pressureLost(load: RunningLoad, { station, pressure }: StationFacts): Wish {
  const lost = pressure && pressure.value < (1 - lostShare) * pressure.heldValue;
  return {
    kind: 'pressure-lost',
    subject: load.load,
    plannedMs: plannedMsOf(load),
    about: { station, load: load.load, ...lots(load) },
    present: load.released ? false : pressure === null ? null : Boolean(lost),
    raised: {
      station,
      load: load.load,
      point: pressure?.point ?? null,
      tooLateMs: null,
      values: {
        lot: load.lot,
        value: pressure?.value ?? null,
        held: pressure?.heldValue ?? null,
        signal: pressure?.signal ?? null,
      },
      evidence: pressure
        ? [{ what: 'readings', point: pressure.point, fromMs: load.startMs, toMs: pressure.tMs }]
        : [],
    },
  };
}

function idleHot({ station, condition, sinceMs, nowMs, readyC }: StationFacts): Wish {
  const idle =
    readyC !== null && condition === 'empty' && sinceMs !== null && nowMs - sinceMs >= idleMs;
  return {
    kind: 'idle-hot',
    subject: station,
    plannedMs: null,
    about: { station },
    present: idle,
    raised: { station, load: null, point: null, tooLateMs: null, values: { sinceMs } },
  };
}

/** End of the time that the recipe gives a face to come back [ms]. */
export function recoveryEndMs({ startMs, plannedEndMs, recipe }: RunningLoad): number {
  const limit = recipe?.limits?.find(({ phase }) => phase === 'recovery');
  if (limit?.phase === 'recovery') return startMs + limit.withinMin * 60_000;
  const planned = plannedEndMs === null ? usualRecoveryMs : (plannedEndMs - startMs) / 4;
  return startMs + Math.min(usualRecoveryMs, planned);
}

function loadAt({ point }: FaceNow, { loads }: StationFacts): RunningLoad | undefined {
  return loads.find(({ points }) => points.includes(point));
}

const plannedMsOf = ({ startMs, plannedEndMs }: RunningLoad) =>
  plannedEndMs === null ? null : plannedEndMs - startMs;

const lots = ({ lot }: RunningLoad) => (lot === '' ? {} : { lots: [lot] });

function shortestPlanMs(loads: readonly RunningLoad[]): number | null {
  const plans = loads.map(plannedMsOf).filter((ms) => ms !== null);
  return plans.length === 0 ? null : Math.min(...plans);
}

function ofStation(kind: Wish['kind'], station: string, loads: readonly RunningLoad[]) {
  return { kind, subject: station, plannedMs: shortestPlanMs(loads), about: { station } };
}

function raised(
  station: string,
  loads: readonly RunningLoad[],
  values: CallRaised['values'],
): Wish['raised'] {
  const ends = loads.map(({ plannedEndMs }) => plannedEndMs).filter((ms) => ms !== null);
  const tooLateMs = ends.length === 0 ? null : Math.min(...ends);
  const named = { loads: loads.length, lot: loads[0]?.lot ?? null };
  return { station, load: null, point: null, tooLateMs, values: { ...named, ...values } };
}

function ofFaces(kind: Wish['kind'], subject: string, station: string, first?: AskedFace) {
  const plannedMs = first === undefined ? null : plannedMsOf(first.load);
  const about = { station, ...(first === undefined ? {} : { sensor: first.face.point }) };
  return { kind, subject, plannedMs, about };
}

function ofPoint(
  station: string,
  first: AskedFace | undefined,
  all: readonly AskedFace[],
  values: CallRaised['values'],
): Wish['raised'] {
  const point = first?.face.point ?? null;
  const { startMs = 0, lot = null } = first?.load ?? {};
  return {
    station,
    load: null,
    point,
    // It stands over many loads: no one plan is its end.
    tooLateMs: null,
    values: { ...values, celsius: first?.face.celsius ?? null, faces: all.length, lot },
    evidence:
      first === undefined || point === null
        ? []
        : [{ what: 'readings', point, fromMs: startMs, toMs: first.face.tMs }],
  };
}
