import { useEffect, useState } from 'preact/hooks';
import type { ComponentType } from 'preact';
import { Hatches } from './cure/cure-bar.tsx';
import { Floor } from './floor/floor.tsx';
import { Frame } from './frame.tsx';
import { say } from './language.ts';
import { language } from './language.ts';
import { isShut } from './people/me.ts';
import { Shut } from './people/shut.tsx';
import { path } from './route.ts';

/** The first and the second name of an address. */
type Screen = ComponentType<{ name: string; second: string }>;

/** Screens that are fetched when they are first opened: a wall never needs them. */
const later: { match: RegExp; load: () => Promise<Screen> }[] = [
  {
    match: /^\/sensors\/health$/,
    load: async () => (await import('./screens/health.tsx')).HealthScreen,
  },
  { match: /^\/load\/([^/]+)$/, load: async () => (await import('./load/load.tsx')).LoadScreen },
  { match: /^\/calls$/, load: async () => (await import('./screens/calls.tsx')).CallsScreen },
  { match: /^\/lots$/, load: async () => (await import('./screens/lots.tsx')).LotsScreen },
  { match: /^\/lots\/([^/]+)$/, load: async () => (await import('./screens/lot.tsx')).LotScreen },
  {
    match: /^\/lots\/([^/]+)\/([^/]+)$/,
    load: async () => (await import('./screens/part.tsx')).PartScreen,
  },
  {
    match: /^\/hold-tag\/([^/]+)$/,
    load: async () => (await import('./screens/hold-tag.tsx')).HoldTagScreen,
  },
  {
    match: /^\/last\/([^/]+)$/,
    load: async () => (await import('./screens/last-load.tsx')).LastLoadScreen,
  },
  {
    match: /^\/start(?:\/([^/]+))?$/,
    load: async () => (await import('./screens/start.tsx')).StartScreen,
  },
  {
    match: /^\/handover$/,
    load: async () => (await import('./screens/handover.tsx')).HandoverScreen,
  },
  {
    match: /^\/search\/([^/]+)$/,
    load: async () => (await import('./screens/search.tsx')).SearchScreen,
  },
  {
    match: /^\/recipes$/,
    load: async () => (await import('./screens/recipes.tsx')).RecipesScreen,
  },
  {
    match: /^\/recipes\/([^/]+)$/,
    load: async () => (await import('./screens/recipe.tsx')).RecipeScreen,
  },
  {
    match: /^\/scanner$/,
    load: async () => (await import('./scan/scanner-screen.tsx')).ScannerScreen,
  },
  {
    match: /^\/act-card\/([^/]+)$/,
    load: async () => (await import('./scan/act-card-screen.tsx')).ActCardScreen,
  },
  {
    match: /^\/settings$/,
    load: async () => (await import('./people/settings.tsx')).SettingsScreen,
  },
  {
    match: /^\/settings\/upkeep$/,
    load: async () => (await import('./screens/upkeep.tsx')).UpkeepScreen,
  },
  {
    match: /^\/settings\/people-kept$/,
    load: async () => (await import('./people/people-kept.tsx')).PeopleKeptScreen,
  },
  {
    match: /^\/records$/,
    load: async () => (await import('./screens/records.tsx')).RecordsScreen,
  },
  {
    match: /^\/records\/([^/]+)$/,
    load: async () => (await import('./screens/record.tsx')).RecordScreen,
  },
  {
    match: /^\/sensors\/due$/,
    load: async () => (await import('./screens/sensors-due.tsx')).SensorsDueScreen,
  },
  {
    match: /^\/sensors\/([^/]+)$/,
    load: async () => (await import('./screens/sensor.tsx')).SensorScreen,
  },
  {
    match: /^\/heat-up(?:\/([^/]+))?$/,
    load: async () => (await import('./heat-up/heat-up.tsx')).HeatUpScreen,
  },
  { match: /^\/sensors$/, load: async () => (await import('./screens/sensors.tsx')).SensorsScreen },
];

const loaded = new Map<RegExp, Screen>();

function Later({
  of,
  names: [name, second],
}: {
  of: (typeof later)[number];
  names: [string, string];
}) {
  const [, redraw] = useState(0);
  const [fault, setFault] = useState<string | null>(null);
  const Shown = loaded.get(of.match);
  useEffect(() => {
    if (loaded.has(of.match)) return;
    of.load().then(
      (screen) => {
        loaded.set(of.match, screen);
        redraw((n) => n + 1);
      },
      (error: unknown) => setFault(String(error)),
    );
  }, [of]);
  if (fault !== null) return <p class="refused">{say('app.fault', { what: fault })}</p>;
  return Shown === undefined ? <p class="pad">…</p> : <Shown name={name} second={second} />;
}

function Content() {
  const at = path.value;
  if (at === '/' || at.startsWith('/floor')) return <Floor />;
  for (const screen of later) {
    const found = screen.match.exec(at);
    if (found !== null) {
      const named = (i: number): string => decodeURIComponent(found[i] ?? '');
      return <Later key={at} of={screen} names={[named(1), named(2)]} />;
    }
  }
  return (
    <section class="empty">
      <h1>{say('app.notFound')}</h1>
      <a class="button" href="/">
        {say('app.toFloor')}
      </a>
    </section>
  );
}

export function App() {
  useEffect(() => {
    document.documentElement.lang = language.value;
  }, [language.value]);
  return (
    <>
      <Hatches />
      <Frame>{isShut.value ? <Shut /> : <Content />}</Frame>
    </>
  );
}
