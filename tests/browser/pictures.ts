import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Locator, Page } from 'playwright-core';
import { expect } from 'vitest';
import { axeFindings, measuresOf } from './screen-quality.ts';
import { desk } from './staged.ts';

const phone = { width: 390, height: 844 };
const sizes = [phone, desk, { width: 3840, height: 2160 }];
const languages = ['en', 'de'] as const;
const themes = ['light', 'dark'] as const;

/** Where pictures go; without it none are taken: they are looked at, not compared. */
const folder = process.env['SETWELL_PICTURES'];

/**
 * Looks at a screen as it stands, in both languages and themes at the three sizes: nothing may be cut off,
 * too small or over its neighbour at any of them, and axe finds nothing in any language or theme. Pictures
 * are named after the run that led to it; the screen is then as it was.
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
    for (const each of sizes) {
      const { width } = each;
      await page.setViewportSize(each);
      const found = await measuresOf(page);
      faults.push(...found.map((fault) => `${language} ${width}: ${fault}`));
      await taken(page, `${run}-${language}`, width, part);
    }
    // Each language at a size of its own. A theme changes colours alone: they are asked for again.
    await page.setViewportSize(i === 0 ? (size ?? desk) : phone);
    for (const [j, each] of themes.entries()) {
      await wear(page, each);
      const findings = await axeFindings(page, i === j ? undefined : 'color-contrast');
      faults.push(...findings.map((finding) => `${language} ${each}: ${finding}`));
    }
  }
  await speak(page, lang);
  await wear(page, theme);
  await page.setViewportSize(size ?? desk);
  expect(faults, run).toEqual([]);
}

/** In both themes, where pictures are asked for. */
async function taken(page: Page, name: string, width: number, part?: Locator): Promise<void> {
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
