import type { ClockSetting } from '@setwell/shared-models/api/clock';
import type { Hello } from '@setwell/shared-models/api/collector';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { BusStatus } from '../intake/bus.ts';
import type { Documents } from '../judge/documents.ts';
import { shiftNow } from '../notify/plant-time.ts';
import type { LedgerFold } from '../judge/ledger-fold.ts';

export interface Introduced {
  version: string;
  collector: string;
  log: string;
  entries: number;
  plant: Plant;
  clock: ClockSetting;
  nowMs: number;
  recipes: Hello['recipes'];
  bus: BusStatus | null;
  lastPerson: number;
  judgeBehindMs: number;
}

/** Who answers here, and what the plant is made of. */
export function helloOf({ plant, bus, ...rest }: Introduced): Hello {
  const { site, stations } = plant;
  return {
    ...rest,
    site,
    stations: stations.map(({ id, title, hall, kind, zones }) => ({
      id,
      title,
      hall,
      kind,
      zones,
    })),
    shift: shiftNow(plant, rest.nowMs),
    broker: {
      connected: bus?.connected ?? false,
      sinceMs: bus?.sinceMs ?? null,
      url: bus?.url ?? '',
    },
  };
}

/** The newest approved revision of each recipe: what may be started now. */
export function startable(fold: LedgerFold, documents: Documents): Hello['recipes'] {
  return [...fold.recipes.keys()].flatMap((id) => {
    const approved = fold.approvedRecipe(id, null);
    if (!approved) return [];
    const { title, kind, plannedMin = null } = documents.recipe(approved.ref.sha256);
    return [{ id, revision: approved.ref.revision, title, kind, plannedMin }];
  });
}
