import { rm } from 'node:fs/promises';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { wholeScene } from './floor-scene.ts';
import { builtWeb, launch, open, stage, type Stage } from './harness.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';

const patient = 180_000;
const look = { width: 390, height: 844, path: '/start/press-1' };
let web: string;
let browser: Browser;
let on: Stage;

beforeAll(async () => {
  web = await builtWeb();
  browser = await launch('--use-fake-device-for-media-stream');
  on = await stage(web, wholeScene);
}, patient);

afterAll(async () => {
  await browser.close();
  await on.close();
  await rm(web, { recursive: true, force: true });
}, patient);

/** A browser's reader of codes that sees nothing in its first pictures, then this code. */
function readerOf(code: string): void {
  let pictures = 0;
  class Reader {
    static getSupportedFormats = () => Promise.resolve(['code_128', 'ean_13']);
    detect(video: HTMLVideoElement): Promise<{ rawValue: string }[]> {
      if (video.readyState < HTMLMediaElement.HAVE_CURRENT_DATA) return Promise.resolve([]);
      pictures += 1;
      Object.assign(globalThis, { seenThrough: video.srcObject });
      return Promise.resolve(pictures < 3 ? [] : [{ rawValue: code }]);
    }
  }
  Object.assign(globalThis, { BarcodeDetector: Reader });
}

test(
  'the camera fills in the lot, in a browser that reads codes, and lets the camera go',
  async () => {
    const { page, context } = await open(browser, on, look);
    await context.grantPermissions(['camera']);
    await page.addInitScript(readerOf, 'K-118');
    await page.reload();
    await page.getByRole('button', { name: 'Scan with the camera' }).click();
    await expect.poll(() => page.getByLabel('Lot').inputValue()).toBe('K-118');
    expect(await page.getByRole('dialog').count()).toBe(0);
    const states = await page.evaluate(() => {
      const { seenThrough } = globalThis as unknown as { seenThrough: MediaStream };
      return seenThrough.getTracks().map(({ readyState }) => readyState);
    });
    expect(states).toEqual(['ended']);
    await context.close();
  },
  patient,
);

test(
  'a code that never comes is waited for, and called off by keyboard; nothing is filled in',
  async () => {
    const { page, context } = await open(browser, on, look);
    await context.grantPermissions(['camera']);
    await page.addInitScript(readerOf, ' ');
    await page.reload();
    await page.getByRole('button', { name: 'Scan with the camera' }).click();
    await page.getByRole('heading', { name: 'Hold the code before the camera' }).waitFor();
    await expect
      .poll(() => page.locator('video').evaluate((video: HTMLVideoElement) => video.videoWidth))
      .toBeGreaterThan(0);
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'start-scan-by-camera');
    await page.keyboard.press('Escape');
    await expect.poll(() => page.getByRole('dialog').count()).toBe(0);
    expect(await page.getByLabel('Lot').inputValue()).toBe('');
    await context.close();
  },
  patient,
);

test(
  'where the camera may not be used, or no browser reads codes with it, the page says what to do',
  async () => {
    const { page, context } = await open(browser, on, look);
    await page.addInitScript(readerOf, 'K-118');
    await page.reload();
    await page.getByRole('button', { name: 'Scan with the camera' }).click();
    await page.getByText('This page may not use the camera.').waitFor();
    await pictured(page, 'start-camera-refused');
    await context.close();
    const other = await open(browser, on, { ...look, lang: 'de', theme: 'dark' });
    await other.page.addInitScript(() => Reflect.deleteProperty(globalThis, 'BarcodeDetector'));
    await other.page.reload();
    await other.page.getByText('Dieser Browser liest mit der Kamera keine Codes').waitFor();
    expect(await faultsOf(other.page)).toEqual([]);
    await other.context.close();
  },
  patient,
);
