import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { wholeScene } from './floor-scene.ts';
import { stage, type Stage } from './harness.ts';
import { axeFindings } from './screen-quality.ts';
import { webAndBrowser } from './staged.ts';
import { visit } from './visit.ts';

const patient = 240_000;
const given = webAndBrowser();
let on: Stage;

beforeAll(async () => {
  on = await stage(given.web, wholeScene);
}, patient);

afterAll(() => on.close(), patient);

/** Each screen with what shows that it has come. */
const screens = [
  ['/', 'li[data-station="bench-1"] .cure-bar'],
  ['/load/P1-00231', '.plot canvas'],
  ['/load/B1-00012', '.big-bar'],
  ['/calls', '.call-card'],
  ['/lots', 'table.lots'],
  ['/lots/K-118', '.steps .cure-bar'],
  ['/start', 'form.start select'],
  ['/sensors', 'table code'],
] as const;

const combinations = screens.flatMap(([path, shown]) =>
  (['light', 'dark'] as const).map((theme) => ({ path, shown, theme })),
);

test.each(combinations)(
  'axe finds nothing on $path, $theme',
  ({ path, shown, theme }) =>
    visit(given.browser, on, { width: 1440, height: 900, path, theme }, async (page) => {
      await page.locator(shown).first().waitFor();
      expect(await axeFindings(page)).toEqual([]);
    }),
  patient,
);

const sideways = (page: Page): Promise<number> =>
  page.evaluate(() => document.documentElement.scrollWidth - innerWidth);

/** What can be pressed and is smaller than 48 px; words in a sentence may be. */
function smallTargets(page: Page): Promise<string[]> {
  return page.evaluate(() =>
    [
      ...document.querySelectorAll(
        'a, button, select, summary, input:not([type=radio], [type=checkbox])',
      ),
    ]
      .filter((element) => !element.matches('.skip, .stretched, p a'))
      .map((element) => ({ element, box: element.getBoundingClientRect() }))
      .filter(({ box }) => box.width > 0 && box.height < 47.5)
      .map(({ element }) => element.outerHTML.slice(0, 90)),
  );
}

function smallText(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const found = new Set<string>();
    const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (words.nextNode()) {
      const element = words.currentNode.parentElement;
      const text = words.currentNode.textContent?.trim() ?? '';
      if (element === null || text === '' || element.closest('script, noscript') !== null) continue;
      if (Number.parseFloat(getComputedStyle(element).fontSize) < 16) found.add(text);
    }
    return [...found];
  });
}

test.each(
  screens.flatMap(([path, shown]) =>
    (['en', 'de'] as const).map((lang) => ({ path, shown, lang })),
  ),
)(
  'on a phone $path ($lang) does not scroll sideways, its words are 16 px, its targets 48',
  ({ path, shown, lang }) =>
    visit(given.browser, on, { width: 390, height: 844, path, lang }, async (page) => {
      await page.locator(shown).first().waitFor();
      expect(await sideways(page)).toBeLessThanOrEqual(0);
      expect(await smallText(page)).toEqual([]);
      expect(await smallTargets(page)).toEqual([]);
    }),
  patient,
);

test(
  'acts on a phone are 72 px high',
  () =>
    visit(given.browser, on, { width: 390, height: 844 }, async (page) => {
      await page.locator('.call .go').first().waitFor();
      const heights = await page
        .locator('.foot-acts > *, .call:first-child .go')
        .evaluateAll((all) => all.map((each) => each.getBoundingClientRect().height));
      // Start load, Scan, Handover, and "I go" of the first call; heights come as fractions of a pixel.
      expect(heights).toHaveLength(4);
      expect(Math.round(Math.min(...heights))).toBeGreaterThanOrEqual(72);
    }),
  patient,
);

const walls = [
  { width: 1920, height: 1080 },
  { width: 3840, height: 2160 },
].flatMap((size) => (['en', 'de'] as const).map((lang) => ({ ...size, lang })));

test.each(walls)(
  'on a wall of $width px ($lang) six stations fit, words and minutes are a twelfth of the shorter side',
  ({ width, height, lang }) =>
    visit(given.browser, on, { width, height, lang }, async (page) => {
      await page.locator('li[data-station="bench-1"] .cure-bar').waitFor();
      await page.evaluate(() => document.fonts.ready);
      const shorter = Math.min(width, height);
      const measured = await page.evaluate(() => {
        const boxes = (selector: string) =>
          [...document.querySelectorAll<HTMLElement>(selector)].map((element) => {
            const range = document.createRange();
            range.selectNodeContents(element);
            const { left, right, bottom } = range.getBoundingClientRect();
            const size = Number.parseFloat(getComputedStyle(element).fontSize);
            return { left, right, bottom, size };
          });
        return { words: boxes('.word'), minutes: boxes('.mins'), foot: boxes('.life') };
      });
      expect(measured.words).toHaveLength(6);
      measured.words.forEach((word, i) => {
        const minutes = measured.minutes[i];
        expect(word.size).toBeGreaterThanOrEqual(shorter / 12);
        expect(minutes?.size).toBeGreaterThanOrEqual(shorter / 12);
        expect(word.right).toBeLessThan(minutes?.left ?? 0);
        expect(minutes?.right).toBeLessThanOrEqual(width);
        expect(word.bottom).toBeLessThanOrEqual(height);
      });
      expect(measured.foot[0]?.right).toBeLessThanOrEqual(width);
      expect(await sideways(page)).toBeLessThanOrEqual(0);
    }),
  patient,
);

test.each(['en', 'de'] as const)(
  'every verdict word of %s fits its place on a wall',
  (lang) =>
    visit(given.browser, on, { width: 1920, height: 1080, lang }, async (page) => {
      await page.locator('li[data-station="bench-1"] .cure-bar').waitFor();
      const words =
        lang === 'en'
          ? ['Not yet', 'In window', 'Undercured', 'Overcured', 'Unproven']
          : ['Noch nicht', 'Im Fenster', 'Zu wenig', 'Zu viel', 'Fraglich'];
      const overflow = await page.evaluate((all) => {
        const cell = document.querySelector<HTMLElement>('.word');
        const minutes = document.querySelector<HTMLElement>('.mins');
        if (cell === null || minutes === null) return ['no row'];
        return all.filter((word) => {
          cell.textContent = word;
          const range = document.createRange();
          range.selectNodeContents(cell);
          return range.getBoundingClientRect().right > minutes.getBoundingClientRect().left;
        });
      }, words);
      expect(overflow).toEqual([]);
    }),
  patient,
);
