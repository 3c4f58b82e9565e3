import { calls } from './de/calls.ts';
import { coats } from './de/coats.ts';
import { decide } from './de/decide.ts';
import { floor } from './de/floor.ts';
import { frame } from './de/frame.ts';
import { health } from './de/health.ts';
import { handover } from './de/handover.ts';
import { heatUp } from './de/heat-up.ts';
import { load } from './de/load.ts';
import { lots } from './de/lots.ts';
import { part } from './de/part.ts';
import { people } from './de/people.ts';
import { pictures } from './de/pictures.ts';
import { privacy } from './de/privacy.ts';
import { recipe } from './de/recipe.ts';
import { records } from './de/records.ts';
import { scan } from './de/scan.ts';
import { search } from './de/search.ts';
import { sensor } from './de/sensor.ts';
import { sensors } from './de/sensors.ts';
import { start } from './de/start.ts';
import { told } from './de/told.ts';
import { upkeep } from './de/upkeep.ts';
import { words } from './de/words.ts';
import type { MessageKey } from './en.ts';

export const de: Record<MessageKey, string> = {
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
