import type { JournalPlace, LoadOpened } from '@setwell/shared-models/record/bodies';
import type { StationEvent } from '../journal/shape.ts';
import type { Opening } from './admission.ts';
import type { Model } from './model.ts';

/** The entry of a load's beginning: everything that is resolved at its start, fixed there. */
export function loadOpened(
  { load, station, opening, zones, lot, recipe, start, closing }: Opening,
  { parts, act }: StationEvent,
  event: JournalPlace,
  resolved: { plannedMin: number | null; plantSha256: string; model: Model },
): LoadOpened {
  const { plannedMin, plantSha256, model } = resolved;
  return {
    load,
    station: station.id,
    opening,
    zones: zones.map(({ id }) => id),
    lot,
    parts,
    recipe: recipe?.ref ?? null,
    plantSha256,
    marks: {
      contact: null,
      pressureOn: { ...start, ...(station.kind === 'press' ? { assumed: true } : {}) },
      releaseStart: null,
      open: null,
    },
    plannedEndMs: plannedMin === null ? null : start.earliestMs + plannedMin * 60_000,
    event,
    act,
    ...(closing && { closing: { foundMs: closing.foundMs, foundBy: closing.foundBy } }),
    weights: null,
    model: { number: model.number, sha256: model.sha256 },
  };
}

/** Over MQTT anybody may write any name: only an act has a person. */
export function authorOf({ act, by }: StationEvent): string {
  return act === null ? 'plant' : (by ?? 'plant');
}
