import { rm } from 'node:fs/promises';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll } from 'vitest';
import { sceneHello } from './floor-scene.ts';
import { builtWeb, launch, stage, type Look, type Stage } from './harness.ts';
import { visit } from './visit.ts';

export const patient = 120_000;
export const desk = { width: 1440, height: 900 };

export interface Staged {
  browser(): Browser;
  /** A stage of its own for a test that changes what the plant says. */
  played(
    prepare: Parameters<typeof stage>[1],
    play: (on: Stage) => Promise<void>,
    hello?: typeof sceneHello,
  ): Promise<void>;
  see(on: Stage, look: Look, see: (page: Page) => Promise<void>): Promise<void>;
}

/** One page as built and one browser, for all tests of a file. */
export function webAndBrowser(): { readonly web: string; readonly browser: Browser } {
  let web: string;
  let browser: Browser;
  beforeAll(async () => {
    web = await builtWeb();
    browser = await launch();
  }, patient);
  afterAll(async () => {
    await browser.close();
    await rm(web, { recursive: true, force: true });
  }, patient);
  return {
    get web() {
      return web;
    },
    get browser() {
      return browser;
    },
  };
}

/** Stages and pages that are looked at with them, each for one test. */
export function staged(): Staged {
  const opened = webAndBrowser();
  return {
    browser: () => opened.browser,
    async played(prepare, play, hello = sceneHello) {
      const on = await stage(opened.web, prepare, hello);
      try {
        await play(on);
      } finally {
        await on.close();
      }
    },
    see: (on, look, see) => visit(opened.browser, on, look, see),
  };
}
