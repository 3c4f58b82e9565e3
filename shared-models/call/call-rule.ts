import type { CallKind, Job } from '../record/bodies.ts';

/** How a kind of call behaves, whatever it is about. */
export interface CallRule {
  who: Job;
  /** Called as well if nobody has come; null: nobody else. */
  handOn: { to: Job; afterMin: number } | null;
  /**
   * Present for so long before it is called: a share of the load's plan, and never more than so much, so
   * that a delay cannot hide a short cycle. Where there is no plan the most counts [s].
   */
  onDelay: { planShare: number; mostS: number };
  /** Absent for so long before it is let go [s]. */
  offDelayS: number;
  /** Stays until somebody has taken it, though its cause is gone. */
  latches: boolean;
  /** Not called while the station is off, heats up, is cleaned or stands by plan. */
  suppressedByState: boolean;
  /** What is lost if nobody does anything. */
  costs: 'load' | 'proof' | 'energy' | 'record' | 'time';
}

const atOnce = { planShare: 0, mostS: 0 };
/** A minute, and never more than a twentieth of the plan. */
const minute = { planShare: 0.05, mostS: 60 };
const toEngineer = { to: 'engineer', afterMin: 10 } as const;
const toMaintenance = { to: 'maintenance', afterMin: 10 } as const;
const toLead = { to: 'shift-lead', afterMin: 10 } as const;

function rule(who: Job, costs: CallRule['costs'], more: Partial<CallRule> = {}): CallRule {
  return {
    who,
    handOn: null,
    onDelay: atOnce,
    offDelayS: 0,
    latches: false,
    suppressedByState: false,
    costs,
    ...more,
  };
}

/**
 * Life cycle by kind, in the terms of ISA-18.2 and IEC 62682.
 *
 * Sixty seconds of delay for a temperature is those standards' usual starting point (from memory); the
 * share of the plan, ten minutes before handing on, and what latches are ours.
 */
export const callRules: Readonly<Record<CallKind, CallRule>> = {
  'short-at-plan': rule('shift-lead', 'load', { handOn: toEngineer, offDelayS: 30 }),
  'waiting-will-not-help': rule('engineer', 'proof', { offDelayS: 30 }),
  'nearing-most': rule('shift-lead', 'load', {
    handOn: { to: 'engineer', afterMin: 5 },
    onDelay: minute,
  }),
  'ended-short': rule('shift-lead', 'load', { handOn: toEngineer, latches: true }),
  'ended-unproven': rule('engineer', 'proof', { latches: true }),
  'ended-over': rule('engineer', 'load', { latches: true }),
  'release-questioned': rule('engineer', 'load', { handOn: toLead, latches: true }),
  'readings-too-late': rule('engineer', 'record', { latches: true }),
  'which-lot': rule('shift-lead', 'proof', { handOn: toEngineer }),
  'event-refused': rule('shift-lead', 'record', { latches: true }),
  'load-faulted': rule('engineer', 'proof'),
  'sensor-silent': rule('maintenance', 'proof', { handOn: toLead }),
  'point-fault': rule('maintenance', 'proof', { onDelay: minute, offDelayS: 60, handOn: toLead }),
  'station-silent': rule('maintenance', 'proof', { handOn: toLead, suppressedByState: true }),
  'supply-failing': rule('shift-lead', 'load', {
    handOn: toMaintenance,
    onDelay: minute,
    offDelayS: 60,
    suppressedByState: true,
  }),
  'outside-limits': rule('maintenance', 'load', {
    handOn: toEngineer,
    onDelay: minute,
    offDelayS: 60,
    suppressedByState: true,
  }),
  'recovery-late': rule('maintenance', 'load', { handOn: toLead, suppressedByState: true }),
  'pressure-lost': rule('shift-lead', 'load', {
    handOn: toMaintenance,
    onDelay: { planShare: 0.01, mostS: 5 },
    latches: true,
  }),
  precure: rule('shift-lead', 'load', { latches: true }),
  'assembly-time': rule('shift-lead', 'load', { latches: true }),
  'flash-off': rule('shift-lead', 'load', { latches: true }),
  recoat: rule('shift-lead', 'load', { latches: true }),
  'piece-too-cold': rule('shift-lead', 'load', { handOn: toEngineer, latches: true }),
  'rest-incomplete': rule('shift-lead', 'load', { handOn: toEngineer, latches: true }),
  'idle-hot': rule('shift-lead', 'energy', { suppressedByState: true }),
  // What is foretold of a heat-up swings in its first minutes; a start anew forgets for a moment that it heats.
  'ready-late': rule('maintenance', 'time', {
    handOn: toLead,
    onDelay: { planShare: 0, mostS: 120 },
    offDelayS: 120,
    suppressedByState: true,
  }),
  'closing-unnamed': rule('shift-lead', 'proof', { handOn: toEngineer, onDelay: minute }),
  collector: rule('engineer', 'record'),
};

/** @param plannedMs how long the load's plan lasts; null where there is none */
export function onDelayMs({ onDelay }: CallRule, plannedMs: number | null): number {
  const mostMs = onDelay.mostS * 1000;
  return plannedMs === null ? mostMs : Math.min(mostMs, onDelay.planShare * plannedMs);
}
