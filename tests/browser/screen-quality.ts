import axe from 'axe-core';
import type { Page } from 'playwright-core';

const leastTextPx = 16;
const leastTargetPx = 48;

/**
 * What axe finds on a screen as it stands: each rule with its places.
 *
 * @param rule this one alone; none: all of them
 */
export async function axeFindings(page: Page, rule?: string): Promise<string[]> {
  if (!(await page.evaluate(() => 'axe' in globalThis))) await page.evaluate(axe.source);
  return page.evaluate(async (only) => {
    const { axe: inPage } = globalThis as unknown as { axe: typeof axe };
    const { violations } = await inPage.run(document, {
      resultTypes: ['violations'],
      ...(only === undefined ? {} : { runOnly: [only] }),
    });
    return violations.map(
      ({ id, nodes }) => `${id}: ${nodes.map(({ target }) => target.join(' ')).join(', ')}`,
    );
  }, rule);
}

/**
 * What is wrong with a screen as it stands: findings of axe, text under 16 px, targets under 48 px, words
 * that are cut off or lie over their neighbours, anything that has to be scrolled sideways.
 */
export async function faultsOf(page: Page): Promise<string[]> {
  const found = await axeFindings(page);
  return [...found, ...(await measuresOf(page))];
}

/** The same but for axe: what a ruler finds. */
export function measuresOf(page: Page): Promise<string[]> {
  return page.evaluate(measured, { leastTextPx, leastTargetPx });
}

/** Runs in the page. */
function measured(least: { leastTextPx: number; leastTargetPx: number }): string[] {
  const faults: string[] = [];
  const named = (element: Element): string =>
    `${element.tagName.toLowerCase()}.${element.getAttribute('class') ?? ''} "${(element.textContent ?? '').trim().slice(0, 30)}"`;
  const isShown = (element: Element): boolean =>
    element.checkVisibility() &&
    element.closest('.spoken, .skip') === null &&
    element.getBoundingClientRect().width > 0;
  for (const element of document.querySelectorAll('body *')) {
    const hasText = [...element.childNodes].some(
      (node) => node.nodeType === Node.TEXT_NODE && (node.textContent ?? '').trim() !== '',
    );
    if (!hasText || !isShown(element)) continue;
    const { fontSize, overflowX } = getComputedStyle(element);
    const px = parseFloat(fontSize);
    if (px < least.leastTextPx) faults.push(`text of ${px} px: ${named(element)}`);
    const isCut = overflowX === 'hidden' && element.scrollWidth > element.clientWidth + 1;
    if (isCut) faults.push(`words cut off: ${named(element)}`);
  }
  for (const row of document.querySelectorAll('li.row')) {
    const { top, bottom } = row.getBoundingClientRect();
    for (const cell of row.querySelectorAll('.st, .word, .mins, .place > *, .cure-bar')) {
      const box = cell.getBoundingClientRect();
      const isIn = box.height === 0 || (box.top >= top - 1 && box.bottom <= bottom + 1);
      if (!isIn) faults.push(`lies over its neighbour: ${named(cell)}`);
    }
  }
  const targets =
    'a[href], button, select, summary, textarea, input:not([type=radio], [type=checkbox])';
  for (const element of document.querySelectorAll(targets)) {
    if (!isShown(element)) continue;
    const { width, height } = element.getBoundingClientRect();
    // A link within a sentence takes the line's height; a slider's thumb is as large as the browser makes it.
    const inText = getComputedStyle(element).display === 'inline';
    const isSlider = element instanceof HTMLInputElement && element.type === 'range';
    if (inText || isSlider || element.classList.contains('stretched')) continue;
    if (Math.min(width, height) < least.leastTargetPx - 0.5) {
      faults.push(`target of ${Math.round(width)} × ${Math.round(height)} px: ${named(element)}`);
    }
  }
  const { scrollWidth, clientWidth } = document.documentElement;
  if (scrollWidth > clientWidth) faults.push(`${scrollWidth} px wide on ${clientWidth} px`);
  return faults;
}
