import { expect, test } from 'vitest';
import { wholeScene } from './floor-scene.ts';
import { shown } from './pressed-plant.ts';
import { faultsOf } from './screen-quality.ts';
import { desk, patient, staged } from './staged.ts';

const { played, see } = staged();

test.each([
  ['en', /^3000 of 12000 readings$/, 'Cancel', 'The pictures were not waited for.'],
  ['de', /^3000 von 12000 Werten$/, 'Abbrechen', 'Auf die Bilder wurde nicht gewartet.'],
] as const)(
  'pictures that take long count what is done, may be called off, and come: %s',
  async (lang, count, cancel, calledOff) => {
    let done = (): void => undefined;
    const drawn = new Promise<void>((resolve) => (done = resolve));
    await played(
      (fake) => {
        wholeScene(fake);
        fake.drawing = { shares: [0.1, 0.25], done: drawn };
        for (const judgement of fake.judgements.values()) {
          if (judgement.quality !== null) judgement.quality.readings = 12_000;
        }
      },
      async (on) => {
        await see(on, { ...desk, path: '/load/P1-00231', lang }, async (page) => {
          await page.getByText(count).waitFor();
          expect(
            await page.locator('progress').evaluate((bar: HTMLProgressElement) => bar.value),
          ).toBe(0.25);
          const button = page.getByRole('button', { name: cancel });
          await button.waitFor();
          expect(await faultsOf(page)).toEqual([]);
          await shown(page, `load-pictures-counted-${lang}`);
          await button.click();
          await page.getByText(calledOff).waitFor();
          expect(await page.locator('progress').count()).toBe(0);
          await page.locator('.fetching button').click();
          await page.getByText(count).waitFor();
          done();
          await page.locator('.cursor-field').waitFor();
        });
      },
    );
  },
  patient,
);
