import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Locator, Page } from 'playwright-core';

const sizes = { 390: 844, 1440: 900, 3840: 2160 } as const;

/** Where pictures go; without it none are taken: they are looked at, not compared. */
const folder = process.env['SETWELL_PICTURES'];

/**
 * Pictures of a screen as it stands, at the three sizes, named after the run that led to it.
 *
 * @param part of the screen that has to be seen; none: its top
 */
export async function pictured(page: Page, run: string, part?: Locator): Promise<void> {
  if (folder === undefined) return;
  mkdirSync(folder, { recursive: true });
  const before = page.viewportSize();
  for (const [width, height] of Object.entries(sizes)) {
    await page.setViewportSize({ width: Number(width), height });
    await part?.scrollIntoViewIfNeeded();
    await page.screenshot({ path: join(folder, `${run}-${width}.png`) });
  }
  if (before !== null) await page.setViewportSize(before);
}
