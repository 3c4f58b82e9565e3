import { scatter } from './chance.ts';
import type { Happening, WorksEvent, WorksReading } from './works.ts';

/** One publication, as a controller of that station writes it. */
export interface Publication {
  topic: string;
  payload: string;
  /** Time of what it says [ms]. */
  t: number;
}

/** How often the gateway of press-2 sends what it has gathered, and how long it hangs now and then. */
const gatewayEveryMs = 5_000;
const gatewayHangs = { everyMs: 47 * 60_000, forMs: 75_000 };

/**
 * Writes what happens as the works' controllers do: a JSON reading a message from most, packets of
 * readings from the gateway of press-2, which now and then holds them back for a minute.
 */
export class Controllers {
  #held = new Map<string, { t: number; v: number }[]>();
  #sentPeriod = 0;

  /** What goes out for one happening, in order. */
  write(happening: Happening): Publication[] {
    if (happening.kind === 'event') return [...this.#flush(), eventPublication(happening)];
    const { station, point, t, v } = happening;
    const out = this.#isDue(t) ? this.#flush() : [];
    if (station !== 'press-2') return [...out, readingPublication(happening)];
    this.#held.set(point, [...(this.#held.get(point) ?? []), { t, v }]);
    return out;
  }

  /** By its own clock, whether or not press-2 says something more. */
  #isDue(t: number): boolean {
    const period = Math.floor(t / gatewayEveryMs);
    if (period <= this.#sentPeriod || t % gatewayHangs.everyMs <= gatewayHangs.forMs) return false;
    this.#sentPeriod = period;
    return true;
  }

  #flush(): Publication[] {
    const out = [...this.#held].map(([point, readings]) => ({
      topic: `plant/press-2/${point}`,
      payload: JSON.stringify(readings),
      t: readings.at(-1)?.t ?? 0,
    }));
    this.#held.clear();
    return out;
  }
}

function readingPublication({ station, point, t, v }: WorksReading): Publication {
  // The meters of bench and lamp box know no time.
  const payload = ['bench-1', 'uv-1'].includes(station) ? String(v) : JSON.stringify({ t, v });
  return { topic: `plant/${station}/${point}`, payload, t };
}

/** Of a coat, wet [g/m²]. */
const laid = { gPerM2: 120, byGPerM2: 6 };

/** Press controllers know their ram; the load's card, read at the start, is told once. */
export function eventPublication({ station, t, event, load, of }: WorksEvent): Publication {
  const name = load.load;
  if (event === 'coat') {
    const gPerM2 = Math.round(laid.gPerM2 + scatter(laid.byGPerM2, 0, name));
    const said = { t, event, lot: load.lot, parts: load.parts, gPerM2 };
    return { topic: `plant/${station}/event`, payload: JSON.stringify(said), t };
  }
  if (of !== undefined) {
    // Before its start nobody knows a load's name yet.
    const whose = t < load.startMs ? { lot: load.lot } : { lot: load.lot, load: name };
    return {
      topic: `plant/${station}/event`,
      payload: JSON.stringify({ t, event, ...whose, ...of }),
      t,
    };
  }
  const said =
    event === 'load-start'
      ? {
          t,
          event,
          load: name,
          lot: load.lot,
          recipe: load.recipe,
          zones: load.zones,
          ...(load.opening === null ? {} : { opening: load.opening }),
          parts: load.parts,
        }
      : { t, event, load: name };
  return { topic: `plant/${station}/event`, payload: JSON.stringify(said), t };
}
