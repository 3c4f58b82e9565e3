import type { Page } from 'playwright-core';

/** Between two keys of a scanner [s]. */
const scannedEveryS = 0.005;

/**
 * A code as a scanner types it: its keys a few milliseconds apart, however busy the machine is, and Enter.
 */
export async function scan(page: Page, code: string): Promise<void> {
  const keys = await page.context().newCDPSession(page);
  const firstS = Date.now() / 1000;
  for (const [i, key] of [...code, 'Enter'].entries()) {
    const ended = key === 'Enter' ? { code: key, windowsVirtualKeyCode: 13 } : {};
    const pressed = { key, timestamp: firstS + i * scannedEveryS, ...ended };
    const text = key === 'Enter' ? '\r' : key;
    await keys.send('Input.dispatchKeyEvent', { type: 'keyDown', ...pressed, text });
    await keys.send('Input.dispatchKeyEvent', { type: 'keyUp', ...pressed });
  }
  await keys.detach();
}

/** Tabs until what has the focus has this name; a keyboard cannot do more. */
export async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let i = 0; i < 80; i += 1) {
    await page.keyboard.press('Tab');
    const found = await page.evaluate(() => {
      const at = document.activeElement;
      const isField = at instanceof HTMLInputElement || at instanceof HTMLTextAreaElement;
      const label = isField ? at.labels?.[0]?.textContent : null;
      return at?.getAttribute('aria-label') ?? label ?? at?.textContent ?? '';
    });
    if (name.test(found)) return;
  }
  throw new Error(`no way to ${String(name)} by keyboard`);
}
