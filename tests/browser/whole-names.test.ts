import { expect, test } from 'vitest';
import { wholeScene } from './floor-scene.ts';
import { patient, staged } from './staged.ts';

const { played, see } = staged();

/** Names that stand on two lines, over all widths between a small phone's and a large one's. */
function brokenNames(): string[] {
  const names = /press-1|P1-00231|K-118|shell-13ply/g;
  const broken = new Set<string>();
  for (let width = 240; width <= 430; width += 5) {
    document.body.style.width = `${width}px`;
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
      for (const { 0: name, index } of (node.textContent ?? '').matchAll(names)) {
        const range = document.createRange();
        range.setStart(node, index);
        range.setEnd(node, index + name.length);
        const lines = new Set([...range.getClientRects()].map(({ top }) => Math.round(top)));
        if (lines.size > 1) broken.add(`${name} at ${width} px`);
      }
    }
  }
  return [...broken];
}

test(
  'no name breaks at its hyphen, in whichever sentence it stands and however narrow the phone is',
  async () => {
    await played(wholeScene, async (on) => {
      for (const path of ['/load/P1-00231', '/lots/K-118', '/lots', '/handover']) {
        await see(on, { width: 390, height: 844, path }, async (page) => {
          await page.getByText('K-118').filter({ visible: true }).first().waitFor();
          expect([path, await page.evaluate(brokenNames)]).toEqual([path, []]);
        });
      }
      await see(on, { width: 390, height: 844, path: '/load/P1-00231' }, async (page) => {
        const name = 'press-1 · P1-00231 · lot K-118 · shell-13ply rev';
        await page.getByRole('heading', { level: 1, name }).waitFor();
      });
    });
  },
  patient,
);
