import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Locator, Page } from 'playwright-core';
import { expect } from 'vitest';
import { axeFindings, measuresOf } from './screen-quality.ts';
import { desk } from './staged.ts';

const sizes = { 390: 844, 1440: 900, 3840: 2160 } as const;
const languages = ['en', 'de'] as const;
const themes = ['light', 'dark'] as const;

/** Where pictures go; without it none are taken: they are looked at, not compared. */
const folder = process.env['SETWELL_PICTURES'];

/**
 * Looks at a screen as it stands, in both languages and themes at the three sizes: nothing may be cut off,
 * too small or over its neighbour at any of them, and axe finds nothing (each language once, each theme
 * once). Pictures are named after the run that led to it; the screen is then as it was.
 *
 * @param part of the screen that has to be seen; none: its top
 */
export async function pictured(page: Page, run: string, part?: Locator): Promise<void> {
  const size = page.viewportSize();
  const { lang, theme } = await page.evaluate(() => ({
    lang: document.documentElement.lang,
    theme: document.documentElement.dataset['theme'] ?? 'light',
  }));
  const faults: string[] = [];
  for (const [i, language] of languages.entries()) {
    if (!(await speak(page, language))) continue;
    for (const [width, height] of Object.entries(sizes)) {
      await page.setViewportSize({ width: Number(width), height });
      for (const fault of await measuresOf(page)) faults.push(`${language} ${width}: ${fault}`);
      await taken(page, `${run}-${language}`, width, part);
    }
    await wear(page, themes[i] ?? 'light');
    await page.setViewportSize(size ?? desk);
    for (const finding of await axeFindings(page)) faults.push(`${language}: ${finding}`);
  }
  await speak(page, lang);
  await wear(page, theme);
  expect(faults, run).toEqual([]);
}

/** In both themes, where pictures are asked for. */
async function taken(page: Page, name: string, width: string, part?: Locator): Promise<void> {
  if (folder === undefined) return;
  mkdirSync(folder, { recursive: true });
  for (const theme of themes) {
    await wear(page, theme);
    await part?.scrollIntoViewIfNeeded();
    await page.screenshot({ path: join(folder, `${name}-${theme}-${width}.png`) });
  }
}

/** By the button of the page; false where it has none, and speaks another language. */
async function speak(page: Page, language: string): Promise<boolean> {
  const speaks = await page.evaluate((wanted) => {
    if (document.documentElement.lang === wanted) return true;
    const button = document.querySelector<HTMLButtonElement>(`button[lang="${wanted}"]`);
    button?.click();
    return button !== null;
  }, language);
  if (speaks) await page.locator(`html[lang="${language}"]`).waitFor({ state: 'attached' });
  return speaks;
}

async function wear(page: Page, theme: string): Promise<void> {
  await page.evaluate((wanted) => {
    document.documentElement.dataset['theme'] = wanted;
  }, theme);
}
