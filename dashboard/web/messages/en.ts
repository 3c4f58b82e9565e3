import { calls } from './en/calls.ts';
import { coats } from './en/coats.ts';
import { decide } from './en/decide.ts';
import { floor } from './en/floor.ts';
import { frame } from './en/frame.ts';
import { health } from './en/health.ts';
import { handover } from './en/handover.ts';
import { heatUp } from './en/heat-up.ts';
import { load } from './en/load.ts';
import { lots } from './en/lots.ts';
import { part } from './en/part.ts';
import { people } from './en/people.ts';
import { pictures } from './en/pictures.ts';
import { privacy } from './en/privacy.ts';
import { recipe } from './en/recipe.ts';
import { records } from './en/records.ts';
import { scan } from './en/scan.ts';
import { search } from './en/search.ts';
import { sensor } from './en/sensor.ts';
import { sensors } from './en/sensors.ts';
import { start } from './en/start.ts';
import { told } from './en/told.ts';
import { upkeep } from './en/upkeep.ts';
import { words } from './en/words.ts';

/** Whole sentences with named places; a translation may put them in any order. One file a screen. */
export const en = {
  ...frame,
  ...words,
  ...floor,
  ...load,
  ...decide,
  ...pictures,
  ...calls,
  ...handover,
  ...lots,
  ...part,
  ...coats,
  ...start,
  ...recipe,
  ...records,
  ...scan,
  ...search,
  ...sensors,
  ...sensor,
  ...people,
  ...privacy,
  ...health,
  ...heatUp,
  ...told,
  ...upkeep,
};

export type MessageKey = keyof typeof en;
