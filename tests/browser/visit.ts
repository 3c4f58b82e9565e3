import type { Browser, Page } from 'playwright-core';
import { expect } from 'vitest';
import { open, type Look, type Stage } from './harness.ts';

/** Opens a screen, hands it over, and fails on any fault of the page or of its content policy. */
export async function visit(
  browser: Browser,
  on: Stage,
  look: Look,
  see: (page: Page) => Promise<void>,
): Promise<void> {
  const { page, context } = await open(browser, on, look);
  const faults: string[] = [];
  page.on('pageerror', (error) => faults.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error' && message.text().includes('Content Security')) {
      faults.push(message.text());
    }
  });
  try {
    await see(page);
    expect(faults).toEqual([]);
  } finally {
    await context.close();
  }
}

/** The row of a station, as its word and minutes. */
export async function rowText(page: Page, station: string): Promise<string> {
  const row = page.locator(`li[data-station="${station}"]`);
  const word = await row.locator('.word').innerText();
  const minutes = await row.locator('.mins').innerText();
  return `${word}|${minutes}`;
}
