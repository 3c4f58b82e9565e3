import { cp, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser, type BrowserContext, type Page } from 'playwright-core';
import {
  startDashboard,
  type Dashboard,
  type DashboardSettings,
} from '@setwell/dashboard/server/server';
import type { ClockSetting } from '@setwell/shared-models/api/clock';
import { freePort } from '../fixtures/free-port.ts';
import { buildPages } from './pages.ts';
import { FakeCollector } from './fake-collector.ts';
import { sceneHello, sceneMs } from './floor-scene.ts';

/** The pages of the sources at hand, in a folder of the caller's own. */
export async function builtWeb(): Promise<string> {
  const pages = await buildPages();
  const folder = await mkdtemp(join(tmpdir(), 'setwell-web-'));
  await cp(pages, folder, { recursive: true });
  return folder;
}

/** @param more switches of the browser beside those of every test */
export function launch(...more: string[]): Promise<Browser> {
  return chromium.launch({
    executablePath: process.env['CHROMIUM'] ?? '/usr/bin/chromium',
    args: [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      ...more,
    ],
  });
}

/** A clock that stands still: minutes on a screen are then what the scene says. */
export const stillClock: ClockSetting = { originMs: sceneMs, wallOriginMs: 0, rate: 0 };

export interface Stage {
  fake: FakeCollector;
  dashboard: Dashboard;
  url: string;
  dataFolder: string;
  /** Stops the dashboard and starts it again on the same port and, if asked, without its view. */
  restart(between?: () => Promise<void>): Promise<void>;
  close(): Promise<void>;
}

/** A dashboard over a fake collector, each on a port of its own. */
export async function stage(
  webFolder: string,
  prepare: (fake: FakeCollector) => void,
  hello = sceneHello,
  more: Partial<DashboardSettings> = {},
): Promise<Stage> {
  const fake = new FakeCollector(structuredClone(hello), stillClock);
  prepare(fake);
  await fake.start();
  const dataFolder = await mkdtemp(join(tmpdir(), 'setwell-view-'));
  const start = (port: number): Promise<Dashboard> =>
    startDashboard({
      collectorUrl: fake.url,
      token: fake.token,
      port,
      dataFolder,
      webFolder,
      version: '0.0.0',
      log: (line) => process.stderr.write(`${line}\n`),
      ...more,
    });
  const first = await start(await freePort());
  const on: Stage = {
    fake,
    dashboard: first,
    url: `http://127.0.0.1:${first.port}`,
    dataFolder,
    restart: async (between) => {
      await on.dashboard.stop();
      await between?.();
      on.dashboard = await start(first.port);
    },
    close: async () => {
      await on.dashboard.stop();
      await fake.stop();
      await rm(dataFolder, { recursive: true, force: true });
    },
  };
  return on;
}

export interface Look {
  width: number;
  height: number;
  theme?: 'light' | 'dark';
  lang?: 'en' | 'de';
  wall?: boolean;
  path?: string;
}

/** A page of a stage, with its own memory, at a size. */
export async function open(
  browser: Browser,
  on: Stage,
  look: Look,
): Promise<{ page: Page; context: BrowserContext }> {
  const { width, height, theme = 'light', lang = 'en', path = '/' } = look;
  const context = await browser.newContext({ viewport: { width, height } });
  const page = await context.newPage();
  const query = new URLSearchParams({ theme, lang });
  if (look.wall !== undefined) query.set('wall', look.wall ? '1' : '0');
  await page.goto(`${on.url}${path}?${query.toString()}`);
  return { page, context };
}
