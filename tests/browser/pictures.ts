import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Locator, Page } from 'playwright-core';

const sizes = { 390: 844, 1440: 900, 3840: 2160 } as const;
const languages = ['en', 'de'] as const;
const themes = ['light', 'dark'] as const;

/** Where pictures go; without it none are taken: they are looked at, not compared. */
const folder = process.env['SETWELL_PICTURES'];

/**
 * Pictures of a screen as it stands, in both languages and themes at the three sizes, named after the run
 * that led to it; the screen is then as it was.
 *
 * @param part of the screen that has to be seen; none: its top
 */
export async function pictured(page: Page, run: string, part?: Locator): Promise<void> {
  if (folder === undefined) return;
  mkdirSync(folder, { recursive: true });
  const size = page.viewportSize();
  const { lang, theme } = await page.evaluate(() => ({
    lang: document.documentElement.lang,
    theme: document.documentElement.dataset['theme'] ?? 'light',
  }));
  for (const language of languages) {
    if (!(await speak(page, language))) continue;
    for (const each of themes) {
      await wear(page, each);
      for (const [width, height] of Object.entries(sizes)) {
        await page.setViewportSize({ width: Number(width), height });
        await part?.scrollIntoViewIfNeeded();
        await page.screenshot({ path: join(folder, `${run}-${language}-${each}-${width}.png`) });
      }
    }
  }
  await speak(page, lang);
  await wear(page, theme);
  if (size !== null) await page.setViewportSize(size);
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
