import type { Page } from 'playwright-core';

/** Tabs until what has the focus has this name; a keyboard cannot do more. */
export async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let i = 0; i < 80; i += 1) {
    await page.keyboard.press('Tab');
    const found = await page.evaluate(() => {
      const at = document.activeElement;
      const label = at instanceof HTMLInputElement ? at.labels?.[0]?.textContent : null;
      return at?.getAttribute('aria-label') ?? label ?? at?.textContent ?? '';
    });
    if (name.test(found)) return;
  }
  throw new Error(`no way to ${String(name)} by keyboard`);
}
