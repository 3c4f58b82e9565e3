// Longer than the limit because it is one invented afternoon: data, told once.
import type { Hello, Judgement, StationNow } from '@setwell/shared-models/api/collector';
import type { LoadOpened, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { JudgedPlace, LoadTrace, ScoreResult } from '@setwell/shared-models/score/shape';
import type { FakeCollector } from './fake-collector.ts';

/** Monday, 2 March 2026, 14:26:08 in Copenhagen. */
export const sceneMs = Date.UTC(2026, 2, 2, 13, 26, 8);
const minuteMs = 60_000;

const zones = (...ids: string[]): Hello['stations'][number]['zones'] =>
  ids.map((id) => ({ id, opening: null, upper: `${id}-u`, lower: `${id}-l`, air: null }));
const airZones = (...ids: string[]): Hello['stations'][number]['zones'] =>
  ids.map((id) => ({ id, opening: null, upper: null, lower: null, air: `${id}-a` }));

export const sceneHello: Omit<Hello, 'nowMs' | 'clock'> = {
  version: '0.1.0',
  collector: 'c1',
  log: 'demo-works/c1/1',
  site: {
    id: 'demo-works',
    title: 'Demo works',
    timeZone: 'Europe/Copenhagen',
    demo: true,
    reading: 'signed-in',
    namesKeptD: 400,
  },
  stations: [
    { id: 'press-1', title: 'Press 1', hall: null, kind: 'press', zones: zones('left', 'right') },
    { id: 'press-2', title: 'Press 2', hall: null, kind: 'press', zones: zones('seat', 'back') },
    { id: 'rack-a', title: 'Rack A', hall: null, kind: 'rack', zones: airZones('bay-1', 'bay-2') },
    { id: 'oven-1', title: 'Oven 1', hall: null, kind: 'oven', zones: airZones('bake') },
    { id: 'store-1', title: 'Store 1', hall: null, kind: 'store', zones: airZones('bay-1') },
    { id: 'bench-1', title: 'Bench 1', hall: null, kind: 'bench', zones: airZones('plate') },
  ],
  recipes: [
    {
      id: 'shell-13ply',
      revision: 4,
      title: 'Chair shell, 13 plies',
      kind: 'press',
      plannedMin: 24,
    },
    { id: 'rack-shell', revision: 2, title: 'Shell in clamps', kind: 'rack', plannedMin: 120 },
    { id: 'top-coat-3', revision: 1, title: 'Stool top, coat 3', kind: 'oven', plannedMin: 40 },
  ],
  broker: { connected: true, sinceMs: sceneMs - 3_600_000, url: 'mqtt://127.0.0.1:1883' },
};

const place = (
  zone: string,
  glueLine: number | null,
  low: number,
  nominal: number,
  high: number,
  verdict: JudgedPlace['verdict'],
): JudgedPlace => ({
  zone,
  glueLine,
  depthMm: glueLine === null ? null : glueLine * 1.5,
  low,
  nominal,
  high,
  verdict,
  side: verdict === 'in-window' ? null : 'short',
});

const base: Omit<Judgement, 'load' | 'station' | 'lot' | 'places' | 'window'> = {
  type: 'judgement',
  opening: null,
  zones: ['left', 'right'],
  parts: ['01', '02'],
  recipe: {
    id: 'shell-13ply',
    revision: 4,
    sha256: 'a'.repeat(64),
    title: 'Chair shell, 13 plies',
  },
  state: 'open',
  startMs: sceneMs - 16 * minuteMs,
  endMs: null,
  plannedEndMs: null,
  asOfMs: sceneMs,
  verdict: 'under',
  side: 'short',
  measure: 'equivalent-time',
  unit: 'min',
  requirements: [
    {
      kind: 'pressure',
      coveredBy: 'measured',
      procedure: null,
      verdict: 'in-window',
      side: null,
      checks: [],
      deviations: [],
      evidence: '1.58 N/mm²',
    },
    {
      kind: 'assembly-time',
      coveredBy: 'not-monitored',
      procedure: 'WI-07',
      verdict: 'not-monitored',
      side: null,
      checks: [],
      deviations: [],
      evidence: null,
    },
  ],
  repress: null,
  deviations: [],
  budget: [
    { term: 'diffusivity', down: 0.42, up: 0.4, unit: 'min' },
    { term: 'place', down: 0.35, up: 0.38, unit: 'min' },
    { term: 'sensor', down: 0.28, up: 0.26, unit: 'min' },
    { term: 'contact', down: 0.15, up: 0.12, unit: 'min' },
    { term: 'gap', down: 0.1, up: 0.1, unit: 'min' },
  ],
  forecast: null,
  say: 'wait',
  quality: { readings: 3840, doubtful: 2, conflicts: 0, duplicates: 1, gaps: [], silent: [] },
  reasons: [],
  released: false,
  blindSinceMs: null,
  readUpToMs: null,
};

const forecast = (provenInMin: number, spreadMin = 0): Judgement['forecast'] => ({
  provenAtMs: sceneMs + provenInMin * minuteMs,
  provenEarliestMs: sceneMs + (provenInMin - spreadMin) * minuteMs,
  provenLatestMs: sceneMs + provenInMin * minuteMs,
  overAtMs: null,
  waitingHelps: true,
  atPlan: null,
});

// Longer than the limit because it is data.
/** The six loads of the paper model, as a judge would say them. */
export function sceneJudgements(): Judgement[] {
  const shell = { least: 8, most: 60 };
  return [
    {
      ...base,
      load: 'P1-00231',
      station: 'press-1',
      lot: 'K-118',
      plannedEndMs: sceneMs + 1.8 * minuteMs,
      window: shell,
      places: [
        place('left', 6, 5.1, 5.9, 6.6, 'under'),
        place('left', 7, 5.2, 6.0, 6.7, 'under'),
        place('right', 6, 5.8, 6.5, 7.3, 'under'),
        ...[5, 8, 4, 9, 3, 10, 2, 11, 12, 1].map((line, i) =>
          place('left', line, 5.9 + i * 0.2, 6.7 + i * 0.15, 7.5 + i * 0.1, 'under'),
        ),
      ],
      forecast: { ...forecast(6.8)!, atPlan: { low: 6.1, high: 7.7, verdict: 'under' } },
      reasons: [{ code: 'low-misses-least', by: 2.9, zone: 'left', glueLine: 6 }],
      quality: {
        ...base.quality,
        gaps: [
          {
            point: 'left-u',
            fromMs: sceneMs - 10 * minuteMs,
            toMs: sceneMs - 10 * minuteMs + 54_000,
          },
        ],
      },
    },
    {
      ...base,
      load: 'P2-00411',
      station: 'press-2',
      lot: 'K-119',
      zones: ['seat', 'back'],
      startMs: sceneMs - 30 * minuteMs,
      plannedEndMs: sceneMs + 1 * minuteMs,
      window: shell,
      verdict: 'in-window',
      side: null,
      say: 'proven',
      places: [
        place('seat', 7, 14.2, 16, 18.1, 'in-window'),
        place('back', 7, 15, 17, 19, 'in-window'),
      ],
      forecast: { ...forecast(-5)!, overAtMs: sceneMs + 43 * minuteMs },
    },
    ...[38, 55, 74].map((inMin, i): Judgement => ({
      ...base,
      load: `RA-0${i + 1}`,
      station: 'rack-a',
      lot: i === 0 ? 'K-117' : `K-11${6 - i}`,
      zones: [i === 0 ? 'bay-2' : 'bay-1'],
      recipe: { id: 'rack-shell', revision: 2, sha256: 'b'.repeat(64), title: 'Shell in clamps' },
      startMs: sceneMs - 82 * minuteMs,
      plannedEndMs: sceneMs + (inMin + 4) * minuteMs,
      window: { least: 120, most: null },
      places: [
        place(i === 0 ? 'bay-2' : 'bay-1', null, 82 - i * 15, 84 - i * 15, 86 - i * 15, 'under'),
      ],
      forecast: forecast(inMin),
    })),
    {
      ...base,
      load: 'O1-00077',
      station: 'oven-1',
      lot: 'S-204',
      zones: ['bake'],
      recipe: { id: 'top-coat-3', revision: 1, sha256: 'c'.repeat(64), title: 'Stool top, coat 3' },
      startMs: sceneMs - 24 * minuteMs,
      plannedEndMs: sceneMs + 16 * minuteMs,
      window: { least: 10, most: 24 },
      verdict: 'unproven',
      places: [place('bake', null, 6.2, 9.1, 12.6, 'unproven')],
      blindSinceMs: sceneMs - 7.1 * minuteMs,
      quality: {
        ...base.quality,
        silent: [{ point: 'bake-a', sinceMs: sceneMs - 7.1 * minuteMs }],
      },
      forecast: forecast(12),
    },
    {
      ...base,
      load: 'S1-00009',
      station: 'store-1',
      lot: 'K-109',
      zones: ['bay-1'],
      recipe: { id: 'top-rest', revision: 2, sha256: 'd'.repeat(64), title: 'Rest, 14 days' },
      startMs: sceneMs - 13 * 1440 * minuteMs,
      unit: 'd',
      window: { least: 14, most: null },
      places: [place('bay-1', null, 12.4, 12.8, 13, 'under')],
      forecast: forecast(28 * 60),
    },
  ];
}

function opened(judgement: Judgement): LoadOpened {
  const mark = { earliestMs: judgement.startMs, latestMs: judgement.startMs };
  return {
    load: judgement.load,
    station: judgement.station,
    opening: judgement.opening,
    zones: judgement.zones,
    lot: judgement.lot,
    parts: judgement.parts,
    recipe: judgement.recipe,
    plantSha256: 'e'.repeat(64),
    marks: { contact: null, pressureOn: mark, releaseStart: null, open: null },
    plannedEndMs: judgement.plannedEndMs,
    event: { seq: 1, index: 0 },
    act: null,
    weights: null,
    model: { number: null, sha256: null },
  };
}

function aboutOf(judgement: Judgement): { station: string; load: string; lots: string[] } {
  return { station: judgement.station, load: judgement.load, lots: [judgement.lot] };
}

/** A load that has ended and been sealed, with its result as a document. */
function seal(fake: FakeCollector, judgement: Judgement, endMs: number, revision = 1): void {
  const result: ScoreResult = {
    format: 1,
    state: 'ended',
    verdict: judgement.verdict,
    side: judgement.side,
    measure: 'equivalent-time',
    unit: judgement.unit ?? 'min',
    window: judgement.window ?? { least: 1, most: null },
    worst: null,
    places: judgement.places,
    repress: null,
    requirements: judgement.requirements,
    deviations: null,
    budget: judgement.budget,
    quality: judgement.quality,
    reasons: judgement.reasons,
  };
  const sealed: LoadSealed & { because?: string } = {
    revision,
    sealedBy: 'complete',
    silent: [],
    startMs: judgement.startMs,
    endMs,
    model: { number: 1, sha256: 'f'.repeat(64) },
    input: fake.keepBlob({ marks: { pressureOn: { assumed: true } } }),
    readings: { sha256: '0'.repeat(64), bytes: 1, count: 1, journalUpTo: 1 },
    result: fake.keepBlob(result),
    verdict: judgement.verdict,
    side: judgement.side,
    worst: null,
    deviations: null,
    quality: { readings: 3000, doubtful: 0, conflicts: 0, gaps: 1 },
    ...(revision > 1 ? { because: 'late' } : {}),
  };
  fake.append(
    revision > 1 ? 'load-amended' : 'load-sealed',
    aboutOf(judgement),
    sealed,
    'collector',
    endMs,
  );
}

/** An ended, unproven bench load on hold. */
function benchJudgement(): Judgement {
  return {
    ...base,
    load: 'B1-00012',
    station: 'bench-1',
    lot: 'S-207',
    zones: ['plate'],
    recipe: { id: 'foot-bond', revision: 2, sha256: '1'.repeat(64), title: 'Foot bond' },
    state: 'sealed',
    startMs: sceneMs - 120 * minuteMs,
    endMs: sceneMs - 60 * minuteMs,
    verdict: 'unproven',
    window: { least: 8, most: 30 },
    places: [place('plate', null, 6.9, 8.4, 9.8, 'unproven')],
    reasons: [
      {
        code: 'gap',
        point: 'plate-a',
        fromMs: sceneMs - 84 * minuteMs,
        toMs: sceneMs - 80 * minuteMs,
        cost: 1.1,
      },
    ],
  };
}

export function raiseShortAtPlan(fake: FakeCollector): void {
  fake.append(
    'call-raised',
    { call: 'short-at-plan.P1-00231', station: 'press-1', load: 'P1-00231', lots: ['K-118'] },
    {
      kind: 'short-at-plan',
      station: 'press-1',
      load: 'P1-00231',
      point: null,
      who: 'shift-lead',
      tooLateMs: sceneMs + 1.8 * minuteMs,
      values: {
        lot: 'K-118',
        zone: 'left',
        glueLine: 6,
        shortBy: 2.9,
        unit: 'min',
        longerMin: 5,
        untilMs: sceneMs + 6.8 * minuteMs,
        plannedEndMs: sceneMs + 1.8 * minuteMs,
      },
    },
    'collector',
    sceneMs - 2 * minuteMs,
  );
}

// Longer than the limit because it is data.
/** The whole paper model: six stations, two calls, one acknowledged, one load on hold. */
export function wholeScene(fake: FakeCollector): void {
  for (const { id } of fake.hello.stations) {
    const now: StationNow = {
      type: 'station',
      station: id,
      condition: 'loaded',
      sinceMs: sceneMs - 20 * minuteMs,
      readyMs: null,
      asOfMs: sceneMs,
      service: null,
    };
    fake.station(now);
  }
  const earlier = {
    ...sceneJudgements()[0]!,
    load: 'P1-00230',
    startMs: sceneMs - 50 * minuteMs,
    verdict: 'in-window' as const,
    side: null,
    places: [place('left', 6, 9.4, 12, 14.8, 'in-window')],
  };
  fake.append('load-opened', aboutOf(earlier), opened(earlier), 'plant', earlier.startMs);
  seal(fake, earlier, sceneMs - 25 * minuteMs);
  const bench = benchJudgement();
  fake.append('load-opened', aboutOf(bench), opened(bench), 'plant', bench.startMs);
  seal(fake, bench, sceneMs - 60 * minuteMs);
  for (const judgement of sceneJudgements()) {
    fake.append('load-opened', aboutOf(judgement), opened(judgement), 'plant', judgement.startMs);
    if (judgement.say === 'proven') {
      fake.append(
        'advice-changed',
        aboutOf(judgement),
        {
          say: 'proven',
          verdict: 'in-window',
          side: null,
          provenAtMs: sceneMs - 5 * minuteMs,
          overAtMs: null,
        },
        'collector',
        sceneMs - 5 * minuteMs,
      );
    }
    fake.judge(judgement);
  }
  raiseShortAtPlan(fake);
  fake.append(
    'call-raised',
    { call: 'sensor-silent.bake-a', station: 'oven-1', load: 'O1-00077' },
    {
      kind: 'sensor-silent',
      station: 'oven-1',
      load: 'O1-00077',
      point: 'bake-a',
      who: 'maintenance',
      tooLateMs: null,
      values: { sinceMs: sceneMs - 7.1 * minuteMs },
    },
    'collector',
    sceneMs - 6 * minuteMs,
  );
  fake.append(
    'call-acknowledged',
    { call: 'sensor-silent.bake-a', station: 'oven-1' },
    { note: null },
    'M. Aker',
    sceneMs - 4 * minuteMs,
  );
  fake.append(
    'call-raised',
    { call: 'ended-unproven.B1-00012', station: 'bench-1', load: 'B1-00012' },
    {
      kind: 'ended-unproven',
      station: 'bench-1',
      load: 'B1-00012',
      point: null,
      who: 'engineer',
      tooLateMs: null,
      values: { lot: 'S-207', zone: 'plate', glueLine: null, shortBy: 1.1, unit: 'min' },
    },
    'collector',
    sceneMs - 59 * minuteMs,
  );
  fake.traces.set('P1-00231', sceneTrace());
  fake.points = fake.hello.stations.flatMap(({ id, zones: of }) =>
    of
      .flatMap((zone) => [zone.upper, zone.lower, zone.air])
      .filter((point) => point !== null)
      .map((point) => ({
        point,
        station: id,
        topic: `plant/${id}/${point}`,
        signal: 'celsius',
        last: {
          t: sceneMs - (point === 'bake-a' ? 7.1 * minuteMs : 800),
          v: 137.9,
          c: 137.9,
          receivedMs: sceneMs - 500,
          quality: 'good' as const,
        },
        perMin: point === 'bake-a' ? 0 : 60,
        silentSinceMs: point === 'bake-a' ? sceneMs - 7.1 * minuteMs : null,
      })),
  );
  fake.rejects = [
    {
      receivedMs: sceneMs - 90_000,
      topic: 'plant/press-1/p1-xx',
      code: 'unknown-point',
      found: 'p1-xx',
      expected: 'one of: left-u, left-l',
      payload: '{"t":1772454278000,"v":135.2}',
    },
    {
      receivedMs: sceneMs - 900_000,
      topic: 'plant/oven-1/bake-a',
      code: 'not-a-number',
      found: '"181,4"',
      expected: 'a number',
      payload: '{"t":1772453468000,"v":"181,4"}',
    },
  ];
}

/** Drawn curves, not computed: a picture needs a shape, no physics. */
export function sceneTrace(forMin = 16, times = 97): LoadTrace {
  const startMs = sceneMs - forMin * minuteMs;
  const minutes = Array.from({ length: times }, (_, i) => (i * forMin) / (times - 1));
  const face = (min: number): number => 20 + 118 * (1 - Math.exp(-min / 2.2));
  const lineC = (min: number, depth: number): number =>
    20 + 112 * (1 - Math.exp(-Math.max(0, min - depth * 1.1) / (3 + depth * 2.2)));
  const rate = (c: number): number => Math.exp((-90_000 / 8.314) * (1 / (c + 273.15) - 1 / 408.15));
  const grown = (shiftK: number): number[] => {
    let sum = 0;
    return minutes.map((min) => (sum += (rate(lineC(min, 1.2) + shiftK) * forMin) / (times - 1)));
  };
  const depthsMm = Array.from({ length: 27 }, (_, i) => (i * 19.5) / 26);
  return {
    timesMs: minutes.map((min) => startMs + min * minuteMs),
    measuredC: [
      {
        point: 'left-u',
        zone: 'left',
        face: 'upper',
        valuesC: minutes.map((min) => (min > 6 && min < 6.9 ? null : face(min))),
        lowC: minutes.map((min) => face(min) - (min > 6 && min < 6.9 ? 5 : 0)),
        highC: minutes.map((min) => face(min) + (min > 6 && min < 6.9 ? 5 : 0)),
      },
      {
        point: 'left-l',
        zone: 'left',
        face: 'lower',
        valuesC: minutes.map((min) => face(min) - 3),
      },
    ],
    lines: Array.from({ length: 12 }, (_, i) => {
      const depth = 1.25 - Math.abs(i - 5) / 6;
      return {
        zone: 'left',
        glueLine: i + 1,
        lowC: minutes.map((min) => lineC(min, depth) - 3),
        nominalC: minutes.map((min) => lineC(min, depth)),
        highC: minutes.map((min) => lineC(min, depth) + 3),
      };
    }),
    section: {
      zone: 'left',
      depthsMm,
      tempC: minutes.map((min) =>
        depthsMm.map((mm) => lineC(min, 1.25 * (1 - Math.abs(mm - 9.75) / 9.75))),
      ),
    },
    cure: { zone: 'left', glueLine: 6, low: grown(-3), nominal: grown(0), high: grown(3) },
    // Two points that miss the same minute: one gap to whoever looks.
    gaps: ['left-u', 'left-l'].map((point) => ({
      point,
      fromMs: startMs + 6 * minuteMs,
      toMs: startMs + 6.9 * minuteMs,
    })),
  };
}
