import type { Judgement } from '@setwell/shared-models/api/collector';
import type { StationKind } from '@setwell/shared-models/plant/plant-schema';
import type { LoadState, Side, Verdict } from '@setwell/shared-models/score/shape';
import type { Say } from '@setwell/shared-models/record/bodies';

/** What is published for a station: advice for eyes and lamps, never wired to a lock or a valve. */
export interface Advice {
  advisory: true;
  /** Plant time [ms]. */
  t: number;
  /** Restarts with the collector; a consumer that sees no new one has no advice. */
  n: number;
  validForS: number;
  collector: string;
  load: string | null;
  state: LoadState | null;
  verdict: Verdict | null;
  side: Side | null;
  say: Say;
  /** The judge is more than 5 s behind what came in. */
  late: boolean;
  provenAt: number | null;
  provenInS: number | null;
  overInS: number | null;
  /** What is said rests on readings up to this time [ms]. */
  dataSince: number | null;
  worst: { zone: string; glueLine: number | null } | null;
}

/** On the consumer's own clock: three of our rounds. */
export const validForS = 15;

/**
 * The load that a station's advice names, where it holds several: the one that is due first among
 * those that need something.
 *
 * `too-long` before `ask` before the rest. In a press the loads of a closing come out together, so that
 * one that must wait hides one that is proven, and the one that waits longest is named. Elsewhere each
 * comes out by itself, and the one due first is named: proven ones are due now.
 */
export function namedLoad(judgements: Judgement[], kind: StationKind): Judgement | null {
  const open = judgements.filter(({ state }) => state === 'open');
  const said = (say: Say) => open.filter((judgement) => judgement.say === say);
  const urgent = said('too-long')[0] ?? said('ask')[0];
  if (urgent) return urgent;
  const waiting = said('wait').sort((a, b) => ascending(provenAt(a), provenAt(b)));
  const proven = said('proven').sort((a, b) => ascending(overAt(a), overAt(b)));
  if (kind === 'press') return waiting.at(-1) ?? proven[0] ?? null;
  return proven[0] ?? waiting[0] ?? null;
}

export function stationAdvice(
  named: Judgement | null,
  { collector, n, nowMs, late }: { collector: string; n: number; nowMs: number; late: boolean },
): Advice {
  const common = { advisory: true, t: nowMs, n, validForS, collector, late } as const;
  if (!named) {
    return {
      ...common,
      load: null,
      state: null,
      verdict: null,
      side: null,
      say: 'none',
      provenAt: null,
      provenInS: null,
      overInS: null,
      dataSince: null,
      worst: null,
    };
  }
  const { forecast, places, readUpToMs, load, verdict, side, say } = named;
  const [worst] = places;
  const secondsTo = (ms: number | null | undefined) =>
    ms === null || ms === undefined ? null : Math.max(0, Math.ceil((ms - nowMs) / 1000));
  return {
    ...common,
    load,
    state: 'open',
    verdict,
    side,
    say,
    provenAt: forecast?.provenAtMs ?? null,
    provenInS: secondsTo(forecast?.provenAtMs),
    overInS: secondsTo(forecast?.overAtMs),
    dataSince: readUpToMs,
    worst: worst ? { zone: worst.zone, glueLine: worst.glueLine } : null,
  };
}

/** Total, also where neither has an end. */
function ascending(a: number, b: number): number {
  return a === b ? 0 : a < b ? -1 : 1;
}

function provenAt({ forecast }: Judgement): number {
  return forecast?.provenAtMs ?? Infinity;
}

function overAt({ forecast }: Judgement): number {
  return forecast?.overAtMs ?? Infinity;
}
