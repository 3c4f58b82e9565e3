// Longer than the limit because it is a table: one timeline after the other, each whole.
import { describe, expect, test } from 'vitest';
import { callsOfConditions } from '@setwell/collector/serve/health/conditions';
import { callRules } from '@setwell/shared-models/call/call-rule';
import { callsOfClosings } from '@setwell/shared-models/call/closing-calls';
import { callsOfFaults, type LoadOnPoints } from '@setwell/shared-models/call/fault-calls';
import { wishesOfLoad, type LoadFacts } from '@setwell/shared-models/call/load-calls';
import {
  callsOfLots,
  nextClocks,
  noClocks,
  type LotClocks,
  type LotEvent,
} from '@setwell/shared-models/call/lot-clocks';
import { callOfReady, type HeatingFacts } from '@setwell/shared-models/call/ready-call';
import { callOfRest } from '@setwell/shared-models/call/rest-call';
import { callsOfSilence } from '@setwell/shared-models/call/silence-calls';
import { callsOfStation } from '@setwell/shared-models/call/station-calls';
import type { Wish } from '@setwell/shared-models/call/wish';
import type { FoundFault } from '@setwell/shared-models/metrology/instrument-acts';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { CallKind } from '@setwell/shared-models/record/bodies';
import { shellRecipe } from '../fixtures/press-load.ts';
import {
  closing,
  expected,
  face,
  load,
  minuteS,
  planS,
  played,
  press,
  Told,
  type Timeline,
} from './call-timelines.ts';

const ms = (s: number): number => s * 1000;
const about = { station: 'press-1', load: 'P1-1' };

/** A load's own kinds at a time, with what is up already. */
const ofLoad =
  (facts: (s: number) => Partial<LoadFacts>) =>
  (s: number, { fold }: Told): Wish[] => {
    const up = new Set([...fold.calls.values()].map(({ raised }) => raised.kind));
    return wishesOfLoad(load(s, { up, ...facts(s) }), about);
  };

const only = (kind: CallKind, wishes: Wish[]): Wish[] =>
  wishes.filter((wish) => wish.kind === kind);

/** A forecast so long past the plan [ms]. */
const pastPlan = (pastMs: number) => ({ forecast: expected({ provenAtMs: ms(planS) + pastMs }) });

const ended = (verdict: LoadFacts['verdict'], sealed = false): Partial<LoadFacts> => ({
  state: sealed ? 'sealed' : 'ended',
  verdict,
});

const ofLoads: Timeline[] = [
  {
    kind: 'short-at-plan',
    shows: 'more than a minute past the plan, not a minute',
    tickS: 1,
    wishes: ofLoad((s) => pastPlan(s < 300 ? 60_000 : 60_001)),
    is: '299 none, 300 up',
  },
  {
    kind: 'short-at-plan',
    shows: 'nothing is foretold in the first tenth of the plan',
    tickS: 1,
    wishes: ofLoad(() => pastPlan(5 * 60_000)),
    is: '143 none, 144 up',
  },
  {
    kind: 'short-at-plan',
    shows: 'let go at the plan, half a minute later, and not before',
    tickS: 1,
    wishes: ofLoad((s) => pastPlan(s < 400 ? 90_000 : s < 800 ? 1 : 0)),
    is: '400 up, 799 up, 829 up, 830 none',
  },
  {
    kind: 'waiting-will-not-help',
    shows: 'from a tenth of the plan on, and let go after half a minute',
    tickS: 1,
    wishes: ofLoad((s) => ({ forecast: expected({ waitingHelps: s >= 300 }) })),
    is: '143 none, 144 up, 329 up, 330 none',
  },
  {
    kind: 'nearing-most',
    shows: 'less than ten minutes to the most for a minute, and gone as soon as it is further off',
    tickS: 1,
    wishes: ofLoad((s) => ({
      ...{ verdict: 'in-window', side: null, plannedEndMs: null },
      forecast: expected({ overAtMs: ms(s < 1500 ? 2000 : 4000) }),
    })),
    is: '1401 none, 1460 none, 1461 up, 1499 up, 1500 none',
  },
  {
    kind: 'nearing-most',
    shows: 'a plan that ends five minutes before the most is in time: asked from its end on',
    tickS: 1,
    wishes: ofLoad(() => ({
      ...{ verdict: 'in-window', side: null },
      forecast: expected({ overAtMs: ms(planS + 300) }),
    })),
    is: '1439 none, 1499 none, 1500 up',
  },
  {
    kind: 'nearing-most',
    shows: 'a plan that ends a millisecond later is not: asked from ten minutes before the most',
    tickS: 1,
    wishes: ofLoad(() => ({
      ...{ verdict: 'in-window', side: null },
      forecast: expected({ overAtMs: ms(planS + 300) - 1 }),
    })),
    is: '1199 none, 1200 up',
  },
  {
    kind: 'ended-short',
    shows: 'at once when it ends; healed later, it waits for somebody',
    tickS: 1,
    wishes: ofLoad((s) => (s < 100 ? {} : ended(s < 200 ? 'under' : 'in-window'))),
    takenS: 250,
    is: '99 none, 100 up, 199 up, 200 returned, 249 returned, 250 none',
  },
  {
    kind: 'ended-unproven',
    shows: 'only once sealed: its last readings may still settle it',
    tickS: 1,
    wishes: ofLoad((s) => (s < 100 ? {} : ended('unproven', s >= 220))),
    is: '100 none, 219 none, 220 up',
  },
  {
    kind: 'ended-over',
    shows: 'at once when it ends',
    tickS: 1,
    wishes: ofLoad((s) => (s < 100 ? {} : ended('over'))),
    is: '99 none, 100 up',
  },
  {
    kind: 'load-faulted',
    shows: 'at once, and as long as it lasts',
    tickS: 1,
    wishes: ofLoad((s) => ({ faulted: s >= 60 && s < 120 })),
    is: '59 none, 60 up, 119 up, 120 none',
  },
  {
    kind: 'which-lot',
    shows: 'until it is named',
    tickS: 1,
    wishes: ofLoad((s) => ({ hasRecipe: s >= 90 })),
    is: '0 up, 89 up, 90 none',
  },
  {
    kind: 'precure',
    shows: 'at once; nothing heals it but somebody who looks',
    tickS: 1,
    wishes: ofLoad((s) => ({
      requirements: [
        { kind: 'precure', verdict: s >= 30 && s < 90 ? 'over' : 'in-window', evidence: null },
      ] as unknown as LoadFacts['requirements'],
    })),
    takenS: 120,
    is: '29 none, 30 up, 89 up, 90 returned, 120 none',
  },
];

const needing = { ...{ load: 'P1-1', station: 'press-1', lot: 'K-118' }, plannedEndMs: ms(planS) };
const onPoints: LoadOnPoints = { ...needing, startMs: 0, points: ['p1-ul'], reasons: [] };
const stuck = (doubts = true): FoundFault => ({
  ...{ rule: 'stuck', point: 'p1-ul', others: [], fromMs: 0, seenMs: 0, evidence: {}, toMs: null },
  doubts,
});

/** Faults of the one point, from 100 to 400 s, under a load with such a plan. */
const faults =
  (fault: FoundFault | null, loads: (s: number) => LoadOnPoints[] = () => [onPoints]) =>
  (s: number, { fold }: Told): Wish[] => {
    const known = fault !== null && s >= 100 && s < 400 ? [fault] : [];
    const up = [...fold.calls.values()].map(({ raised }): [string, string] => [
      raised.point ?? '',
      String(raised.values['rule']),
    ]);
    const lasting = (point: string) => (point === 'p1-ul' ? known : []);
    return callsOfFaults(lasting, loads(s), new Map(up));
  };

const ofPoints: Timeline[] = [
  {
    kind: 'sensor-silent',
    shows: 'at once when the silence is told, and gone with the first reading',
    tickS: 1,
    wishes: (s) =>
      callsOfSilence([{ ...needing, points: ['p1-ul'], about }], {
        sinceMs: () => (s >= 300 && s < 400 ? ms(180) : null),
        isKnown: () => true,
      }),
    is: '299 none, 300 up, 399 up, 400 none',
  },
  {
    kind: 'sensor-silent',
    shows: 'after a start only once it could have spoken',
    tickS: 1,
    wishes: (s) =>
      callsOfSilence([{ ...needing, points: ['p1-ul'], about }], {
        sinceMs: () => 0,
        isKnown: () => s >= 120,
      }),
    is: '119 none, 120 up',
  },
  {
    kind: 'point-fault',
    shows: 'after a minute, and let go after a minute',
    tickS: 1,
    wishes: faults(stuck()),
    is: '159 none, 160 up, 459 up, 460 none',
  },
  {
    kind: 'point-fault',
    shows: 'a plan of four minutes waits a twentieth of it',
    tickS: 1,
    wishes: faults(stuck(), () => [{ ...onPoints, plannedEndMs: ms(4 * minuteS) }]),
    is: '111 none, 112 up',
  },
  {
    kind: 'point-fault',
    shows: 'what takes no reading from the load is a line in the log',
    tickS: 1,
    wishes: faults(stuck(false)),
    is: '399 none',
  },
  {
    kind: 'point-fault',
    shows: 'what touches no load is a line in the log',
    tickS: 1,
    wishes: faults(stuck(), () => [{ ...onPoints, points: ['p1-ll'] }]),
    is: '399 none',
  },
  {
    kind: 'point-fault',
    shows: 'between two loads what stands, stands',
    tickS: 1,
    wishes: faults(stuck(), (s) => (s >= 200 && s < 300 ? [] : [onPoints])),
    is: '160 up, 299 up, 399 up, 460 none',
  },
  {
    kind: 'point-fault',
    shows: 'an instrument that proves nothing any more',
    tickS: 1,
    wishes: faults(null, () => [
      {
        ...onPoints,
        reasons: [{ code: 'unproven-instrument', point: 'p1-ul', because: 'grace-over' }],
      },
    ]),
    is: '59 none, 60 up',
  },
];

/** One kind of a press whose faces are as told. */
const ofFaces =
  (kind: CallKind, told: (s: number) => Parameters<typeof face>[2]) =>
  (s: number): Wish[] => {
    const faces = [face('p1-ul', s, told(s)), face('p1-ll', s, told(s))];
    return only(kind, callsOfStation(press(s, { faces })));
  };

/** The ram's gauge at a value of the 100 bar that it has held. */
const gauge =
  (value: (s: number) => number, planMin = 24) =>
  (s: number): Wish[] => {
    const pressure = { ...{ point: 'p1-bar', signal: 'bar', heldValue: 100, tMs: ms(s) } };
    const facts = press(
      s,
      { pressure: { ...pressure, value: value(s) } },
      { plannedEndMs: ms(planMin * minuteS) },
    );
    return only('pressure-lost', callsOfStation(facts));
  };

const ofStations: Timeline[] = [
  {
    kind: 'station-silent',
    shows: 'all its faces, at once; not while it is taken out',
    tickS: 1,
    wishes: ofFaces('station-silent', (s) => ({ silentSinceMs: s >= 100 ? 0 : null })),
    suppressed: (s) => s >= 200,
    is: '99 none, 100 up, 199 up, 200 none',
  },
  {
    kind: 'station-silent',
    shows: 'one of two is not all',
    tickS: 1,
    wishes: (s) => {
      const faces = [face('p1-ul', s, { silentSinceMs: 0 }), face('p1-ll', s)];
      return only('station-silent', callsOfStation(press(s, { faces })));
    },
    is: '200 none',
  },
  {
    kind: 'supply-failing',
    shows: 'three quarters of a kelvin a minute for a minute, and back for a minute',
    tickS: 1,
    wishes: ofFaces('supply-failing', (s) => ({
      slopeKPerMin: s < 380 ? 0 : s < 400 ? -0.74 : s < 600 ? -0.75 : 0,
    })),
    is: '459 none, 460 up, 659 up, 660 none',
  },
  {
    kind: 'supply-failing',
    shows: 'the dip of a charge is none: asked from the end of its recovery on',
    tickS: 1,
    wishes: ofFaces('supply-failing', () => ({ slopeKPerMin: -2 })),
    is: '299 none, 359 none, 360 up',
  },
  {
    kind: 'outside-limits',
    shows: 'a tenth of their width beyond is still inside; more for a minute; back is on the limit',
    tickS: 1,
    wishes: ofFaces('outside-limits', (s) => ({
      celsius: s < 400 ? 135.61 : s < 600 ? 135.59 : s < 800 ? 135.9 : 136,
    })),
    is: '399 none, 459 none, 460 up, 799 up, 859 up, 860 none',
  },
  {
    kind: 'outside-limits',
    shows: 'the dip is no call',
    tickS: 1,
    wishes: ofFaces('outside-limits', (s) => ({ celsius: s < 290 ? 125 : 138 })),
    is: '299 none, 400 none',
  },
  {
    kind: 'recovery-late',
    shows: 'past the time that the recipe gives, until it is back',
    tickS: 1,
    wishes: (s) => {
      const recovered = new Set(s < 400 ? [] : ['p1-ul', 'p1-ll']);
      return only('recovery-late', callsOfStation(press(s, {}, { recovered })));
    },
    is: '300 none, 301 up, 399 up, 400 none',
  },
  {
    kind: 'pressure-lost',
    shows: 'below four fifths for five seconds; back, it waits for somebody',
    tickS: 1,
    wishes: gauge((s) => (s < 100 ? 80 : s < 200 ? 79.9 : 100)),
    takenS: 250,
    is: '99 none, 104 none, 105 up, 199 up, 200 returned, 250 none',
  },
  {
    kind: 'pressure-lost',
    shows: 'a plan of four minutes waits a hundredth of it',
    tickS: 1,
    wishes: gauge((s) => (s < 100 ? 100 : 60), 4),
    is: '102 none, 103 up',
  },
  {
    kind: 'idle-hot',
    shows: 'half an hour hot and empty, until it is loaded',
    tickS: 1,
    wishes: (s) => {
      const condition = s < 2000 ? 'empty' : 'loaded';
      return only('idle-hot', callsOfStation(press(s, { condition, loads: [] })));
    },
    is: '1799 none, 1800 up, 1999 up, 2000 none',
  },
  {
    kind: 'closing-unnamed',
    shows: 'a minute after it is sure, until a load names it',
    tickS: 1,
    wishes: (s) => {
      const loads = s < 300 ? [] : [{ startMs: ms(100), endMs: null, closingMs: ms(100) }];
      return s < 130 ? [] : callsOfClosings('press-1', [closing(100)], loads);
    },
    is: '189 none, 190 up, 299 up, 300 none',
  },
  {
    kind: 'closing-unnamed',
    shows: 'a load that was out before names none',
    tickS: 1,
    wishes: (s) => {
      const load = { startMs: 10_000, endMs: s < 300 ? null : 90_000, closingMs: null };
      return s < 130 ? [] : callsOfClosings('press-1', [closing(100)], [load]);
    },
    is: '359 none, 360 up',
  },
  {
    kind: 'closing-unnamed',
    shows: 'not before it can be told whether anything is in it, never on cold plates',
    tickS: 1,
    wishes: (s) => {
      const cold = closing(0, { charge: 'plates-cold' });
      const charge = s < 300 ? 'not-yet' : 'not-seen';
      return callsOfClosings('press-1', [cold, closing(100, { charge })], []);
    },
    is: '299 none, 359 none, 360 up',
  },
];

/** A press that heats up from 0 s on, usually ready after 30 min; now it will be ready at a time [s]. */
const heating =
  (readyS: (s: number) => number | null, more: (s: number) => Partial<HeatingFacts> = () => ({})) =>
  (s: number, { fold }: Told): Wish[] => {
    const readyAtS = readyS(s);
    const heatUp = {
      ...{ startMs: 0, lastPoint: 'p1-ul', usuallyReadyMs: ms(1800) },
      expectedReadyMs: readyAtS === null ? null : ms(readyAtS),
    };
    const up = [...fold.calls.values()].some(({ raised }) => raised.kind === 'ready-late');
    const facts = { station: 'press-1', nowMs: ms(s), condition: 'heating', heatUp, up } as const;
    return [callOfReady({ ...facts, shiftStartMs: null, ...more(s) })];
  };

const ofHeatUps: Timeline[] = [
  {
    kind: 'ready-late',
    shows: 'more than five minutes later than usual for two minutes, not five minutes',
    tickS: 1,
    wishes: heating((s) => (s < 300 ? 2100 : 2101)),
    is: '299 none, 419 none, 420 up',
  },
  {
    kind: 'ready-late',
    shows: 'later than usual, but in time for the first shift after it',
    tickS: 1,
    wishes: heating(
      (s) => (s < 300 ? 3900 : 3901),
      () => ({ shiftStartMs: ms(3600) }),
    ),
    is: '299 none, 419 none, 420 up',
  },
  {
    kind: 'ready-late',
    shows: 'begun late and as always: the shift is under way, and nobody is called',
    tickS: 1,
    wishes: heating(
      () => 2100,
      () => ({ shiftStartMs: ms(600) }),
    ),
    is: '1900 none',
  },
  {
    kind: 'ready-late',
    shows: 'in time again for two minutes; a second late is late once somebody is called',
    tickS: 1,
    wishes: heating((s) => (s < 300 ? 2400 : s < 500 ? 1801 : 1800)),
    is: '119 none, 120 up, 499 up, 619 up, 620 none',
  },
  {
    kind: 'ready-late',
    shows:
      'what cannot be told keeps what there is; what is expected of a moment ago is expected now',
    tickS: 1,
    wishes: heating((s) => (s < 2000 ? null : 1800)),
    is: '1999 none, 2220 none, 2221 up',
  },
  {
    kind: 'ready-late',
    shows: 'silent it stands; taken out of service it is let go at once',
    tickS: 1,
    wishes: heating(
      () => 2400,
      (s) => ({ condition: s < 200 ? 'heating' : 'no-readings' }),
    ),
    suppressed: (s) => s >= 400,
    is: '120 up, 399 up, 400 none',
  },
  {
    kind: 'ready-late',
    shows: 'switched off it is let go after two minutes: nobody waits for it',
    tickS: 1,
    wishes: heating(
      () => 2400,
      (s) => ({ condition: s < 200 ? 'heating' : 'cold' }),
    ),
    is: '199 up, 319 up, 320 none',
  },
];

const pressed = {
  ...shellRecipe,
  requirements: [
    { kind: 'assembly-time', openMaxMin: 10, closedMaxMin: 30 },
    { kind: 'piece-temperature', minC: 15 },
  ],
} as unknown as Recipe;
const coated = { kind: 'oven', flashOffMin: { most: 20 }, recoatH: { most: 16 } } as Recipe;

/** Clocks after events of one lot, each at its time [s]. */
const clocksOf =
  (kind: CallKind, events: [s: number, event: string, more?: Partial<LotEvent>][]) =>
  (s: number): Wish[] => {
    const clocks = events
      .filter(([atS]) => atS <= s)
      .reduce(
        (before: LotClocks, [atS, event, more = {}]) =>
          nextClocks(before, {
            ...{ event, station: 'press-1', atMs: ms(atS), lot: 'K-118', load: null, tempC: null },
            ...{ recipe: pressed, place: { seq: 1, index: 0 } },
            ...more,
          }),
        noClocks,
      );
    return only(kind, callsOfLots(clocks, ms(s)));
  };

const ofLots: Timeline[] = [
  {
    kind: 'assembly-time',
    shows: 'when a fifth of it is left; in time is in time',
    tickS: 1,
    wishes: clocksOf('assembly-time', [
      [0, 'spread'],
      [600, 'load-start'],
    ]),
    is: '479 none, 480 up, 599 up, 600 none',
  },
  {
    kind: 'assembly-time',
    shows: 'a second too late waits for somebody',
    tickS: 1,
    wishes: clocksOf('assembly-time', [
      [0, 'spread'],
      [601, 'load-start'],
    ]),
    takenS: 700,
    is: '600 up, 601 returned, 699 returned, 700 none',
  },
  {
    kind: 'flash-off',
    shows: 'when a fifth of it is left, until it is in the oven',
    tickS: 1,
    wishes: clocksOf('flash-off', [
      [0, 'coat', { recipe: coated }],
      [1100, 'load-start'],
    ]),
    is: '959 none, 960 up, 1099 up, 1100 none',
  },
  {
    kind: 'recoat',
    shows: 'when a fifth of it is left, until it is abraded',
    tickS: 60,
    wishes: clocksOf('recoat', [
      [0, 'coat', { recipe: coated }],
      [60, 'load-start', { recipe: coated }],
      [120, 'load-end', { recipe: coated }],
      [57_000, 'abraded'],
    ]),
    is: '46140 none, 46200 up, 56940 up, 57000 none',
  },
  {
    kind: 'piece-too-cold',
    shows: 'at the least is warm enough; measured again, it is over',
    tickS: 1,
    wishes: clocksOf('piece-too-cold', [
      [0, 'piece-temperature', { tempC: 15 }],
      [100, 'piece-temperature', { tempC: 14.9 }],
      [200, 'piece-temperature', { tempC: 15 }],
    ]),
    is: '99 none, 100 up, 199 up, 200 none',
  },
  {
    kind: 'rest-incomplete',
    shows: 'a lot that goes on with its rest unproven; over is over only when somebody has looked',
    tickS: 1,
    wishes: (s) => {
      const verdict = s < 100 ? 'in-window' : 'under';
      const going = { lot: 'K-118', load: 'O1-1', station: 'oven-1', about: {} };
      const wish = callOfRest(going, [{ load: 'S1-1', verdict, decided: s >= 200 }]);
      const over = { kind: 'rest-incomplete', subject: 'O1-1', present: false } as const;
      const raised = { station: 'oven-1', load: 'O1-1', point: null, tooLateMs: null, values: {} };
      return [wish ?? { ...over, plannedMs: null, about: {}, raised }];
    },
    takenS: 250,
    is: '99 none, 100 up, 199 up, 200 returned, 250 none',
  },
];

const nothing = { station: 'press-1', load: 'P1-1', point: null, tooLateMs: null, values: {} };

const once =
  (kind: CallKind) =>
  (s: number, { caller }: Told): Wish[] => {
    if (s === 100 || s === 150) caller.raiseOnce(kind, 'P1-1', about, nothing, ms(s));
    if (s === 200) caller.decided('P1-1');
    return [];
  };

const ofTheRest: Timeline[] = [
  {
    kind: 'release-questioned',
    shows: 'once, until people decide anew',
    tickS: 1,
    wishes: once('release-questioned'),
    is: '99 none, 100 up, 199 up, 200 none',
  },
  {
    kind: 'readings-too-late',
    shows: 'once, until people decide',
    tickS: 1,
    wishes: once('readings-too-late'),
    is: '99 none, 100 up, 199 up, 200 none',
  },
  {
    kind: 'event-refused',
    shows: 'until somebody has read it',
    tickS: 1,
    wishes: (s, { caller }) => {
      const body = { ...nothing, kind: 'event-refused', who: 'shift-lead' } as const;
      if (s === 100) caller.refused('event-refused.1.0', about, body, false);
      return [];
    },
    takenS: 150,
    is: '99 none, 100 up, 149 up, 150 none',
  },
  {
    kind: 'collector',
    shows: 'as long as its condition lasts',
    tickS: 1,
    wishes: (s, told) => {
      const conditions = s >= 100 && s < 200 ? [{ code: 'disk', subject: '', values: {} }] : [];
      const proposals = callsOfConditions(conditions as never, told.fold, ms(s));
      for (const { kind, body, about: of } of proposals) told.say(kind, body, of);
      return [];
    },
    is: '99 none, 100 up, 199 up, 200 none',
  },
];

const timelines = [...ofLoads, ...ofPoints, ...ofStations, ...ofHeatUps, ...ofLots, ...ofTheRest];

describe('a tick before, at and after', () => {
  test.each(timelines)('$kind: $shows', (timeline) => {
    expect(played(timeline)).toBe(timeline.is);
  });

  test('every kind there is has its timeline', () => {
    const named = new Set(timelines.map(({ kind }) => kind));
    expect([...named].sort()).toEqual(Object.keys(callRules).sort());
  });
});

const short = (s: number, more: Partial<LoadFacts> = {}): Wish[] =>
  only('short-at-plan', wishesOfLoad(load(s, { ...pastPlan(5 * 60_000), ...more }), about));

describe('a call that stands', () => {
  test.each(Object.entries(callRules).filter(([, rule]) => rule.suppressedByState))(
    '%s is let go at once while its station is off, cleaned or stands by plan',
    (kind) => {
      const told = new Told();
      const wish: Wish = {
        ...{ kind: kind as CallKind, subject: 'press-1', present: true, plannedMs: null },
        ...{ about: { station: 'press-1' }, raised: { ...nothing, load: null } },
      };
      for (const s of [0, 120]) told.caller.settle([wish], ms(s));
      expect(told.stateOf(kind as CallKind)).toBe('up');
      told.caller.settle([wish], ms(121), 'recovered', true);
      expect(told.stateOf(kind as CallKind)).toBe('none');
      expect(told.clearedBecause()).toEqual(['suppressed']);
      // Its delay begins anew when the station is in work again.
      told.caller.settle([wish], ms(122));
      const delayed = callRules[kind as CallKind].onDelay.mostS > 0;
      expect(told.stateOf(kind as CallKind)).toBe(delayed ? 'none' : 'up');
    },
  );

  test('is handed on at ten minutes, and not a second before', () => {
    const handedOn = (s: number) => {
      const told = new Told();
      // Its time ends long after that: a plan of four hours.
      const wishes = short(2000, { plannedEndMs: ms(4 * 3600), ...pastPlan(4 * 3_600_000) });
      told.caller.settle(wishes, 0);
      told.caller.lookRound(ms(s));
      return told.entries.filter(({ kind }) => kind === 'call-handed-on').length;
    };
    expect([599, 600].map(handedOn)).toEqual([0, 1]);
  });

  test('is handed on when half of the time is over, where that is sooner', () => {
    const handedOn = (s: number) => {
      const told = new Told();
      told.nowS = planS - 400;
      told.caller.settle(short(told.nowS), ms(told.nowS));
      told.caller.lookRound(ms(told.nowS + s));
      return told.entries.filter(({ kind }) => kind === 'call-handed-on').length;
    };
    expect([199, 200].map(handedOn)).toEqual([0, 1]);
  });

  test('put aside it is hidden until its end, evaluated on, and not handed on', () => {
    const told = new Told();
    told.caller.settle(short(300), ms(300));
    const [call] = [...told.fold.calls.keys()];
    told.nowS = 300;
    const shelved = { reason: 'test piece', untilMs: ms(2000) };
    told.say('call-shelved', shelved, { call: call! }, 'p-1');
    const kinds = () => told.entries.map(({ kind }) => kind);
    told.caller.lookRound(ms(1999));
    expect(kinds()).toEqual(['call-raised', 'call-shelved']);
    told.caller.lookRound(ms(2000));
    expect(kinds().at(-1)).toBe('call-unshelved');
    // Its cause goes while it is put aside: it is over, and nobody had to look.
    told.say('call-shelved', { ...shelved, untilMs: ms(4000) }, { call: call! }, 'p-1');
    const clear = wishesOfLoad(load(2100), about);
    for (const s of [2100, 2129, 2130]) told.caller.settle(clear, ms(s));
    expect(kinds().at(-1)).toBe('call-cleared');
  });

  test('one cause is one call: a supply that fails stands for every face of it', () => {
    const told = new Told();
    const at = (s: number, slopeKPerMin: number): Wish[] => {
      const points = ['p1-ul', 'p1-ll', 'p2-ul', 'p2-ll', 'p3-ul', 'p3-ll'];
      const faces = points.map((point) => face(point, s, { celsius: 130, slopeKPerMin }));
      return callsOfStation(press(s, { faces }, { points, recovered: new Set(points) }));
    };
    for (let s = 300; s <= 420; s += 1) {
      told.nowS = s;
      told.caller.settle(at(s, -1.5), ms(s));
    }
    const listed = () =>
      [...told.fold.calls.values()]
        .filter(({ raised }) => !raised.cause)
        .map(({ raised }) => raised.kind);
    expect(told.fold.calls.size).toBe(2);
    expect(listed()).toEqual(['supply-failing']);
    // It holds again and the faces are still too cold: now that is its own, for all six of them.
    for (let s = 421; s <= 600; s += 1) {
      told.nowS = s;
      told.caller.settle(at(s, 0), ms(s));
    }
    expect(listed()).toEqual(['outside-limits']);
    const [call] = [...told.fold.calls.values()];
    expect(call?.raised.values).toMatchObject({ side: 'low', faces: 6 });
  });
});
