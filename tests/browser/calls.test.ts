import { expect, test } from 'vitest';
import { raiseShortAtPlan, sceneHello, sceneJudgements, wholeScene } from './floor-scene.ts';
import { tabTo } from './keyboard.ts';
import { desk, patient, staged } from './staged.ts';

const { played, see } = staged();

test(
  'a call appears while one looks, is spoken once, and has an owner after "I go"',
  () =>
    played(
      (fake) => sceneJudgements().forEach((judgement) => fake.judge(judgement)),
      (on) =>
        see(on, desk, async (page) => {
          const press = page.locator('li[data-station="press-1"]');
          await press.getByText('7 min more').waitFor();
          expect(await press.getAttribute('class')).toBe('row');
          raiseShortAtPlan(on.fake);
          const sentence =
            'press 5 min longer: until 14:33, or it ends undercured (left · glue line 6)';
          await page.locator('.call').getByText(sentence).waitFor();
          expect(await page.getByRole('alert').first().innerText()).toBe(
            `New call. press-1: ${sentence}`,
          );
          await page.locator('li.called[data-station="press-1"]').waitFor();
          await page.getByRole('button', { name: 'I go: press-1' }).click();
          await page.getByText('shift lead, 14:26').waitFor();
          expect(on.fake.acts).toHaveLength(1);
          expect(on.fake.acts[0]).toMatchObject({ kind: 'call-acknowledged', by: 'shift-lead' });
          on.fake.append('call-cleared', { call: 'short-at-plan.P1-00231' }, { because: 'over' });
          await page.locator('.call').waitFor({ state: 'detached' });
        }),
    ),
  patient,
);

test(
  'by keyboard alone: Floor, a load, back, Calls, I go',
  () =>
    played(wholeScene, (on) =>
      see(on, desk, async (page) => {
        await page.locator('li[data-station="bench-1"] .cure-bar').waitFor();
        await tabTo(page, /^press-1$/);
        await page.keyboard.press('Enter');
        await page.getByText('Not yet: 7 min more.').waitFor();
        const cursor = page.getByRole('slider');
        await cursor.waitFor();
        await page.getByText('data: 1 gap, 54 s').waitFor();
        await tabTo(page, /Cursor through the pictures/);
        const first = await cursor.getAttribute('aria-valuetext');
        await page.keyboard.press('ArrowLeft');
        await expect.poll(() => cursor.getAttribute('aria-valuetext')).not.toBe(first);
        expect(await cursor.getAttribute('aria-valuetext')).toMatch(
          /^14:25:58, left · glue line 6, \d+ to \d+ °C computed, cure [\d.]+ to [\d.]+ of 8 equivalent min$/,
        );
        await tabTo(page, /^Floor$/);
        await page.keyboard.press('Enter');
        await page.locator('li[data-station="press-1"]').waitFor();
        await tabTo(page, /^Calls/);
        await page.keyboard.press('Enter');
        await page.getByRole('heading', { name: 'Calls' }).waitFor();
        await tabTo(page, /^I go: press-1$/);
        await page.keyboard.press('Enter');
        await page.getByText(/shift lead, 14:26/).waitFor();
      }),
    ),
  patient,
);

test(
  'on a real plant a name is asked for once, and the page says that sign-in comes later',
  () =>
    played(
      wholeScene,
      (on) =>
        see(on, desk, async (page) => {
          await page.getByRole('button', { name: 'I go: press-1' }).click();
          await page.getByText('Sign-in comes later').waitFor();
          expect(on.fake.acts).toHaveLength(0);
          await page.getByLabel('Your name, for the record').fill('R. Voss');
          await page.keyboard.press('Enter');
          await page.getByText('R. Voss, 14:26').waitFor();
          await page.getByRole('button', { name: 'I go: bench-1' }).click();
          await expect.poll(() => on.fake.acts.map(({ by }) => by)).toEqual(['R. Voss', 'R. Voss']);
          expect(await page.getByText('demo', { exact: true }).count()).toBe(0);
        }),
      { ...sceneHello, site: { ...sceneHello.site, demo: false } },
    ),
  patient,
);

test(
  'a load is started by hand, two minutes ago, and one without a lot is not',
  () =>
    played(wholeScene, (on) =>
      see(on, { ...desk, path: '/start' }, async (page) => {
        await page.getByRole('button', { name: 'Start', exact: true }).click();
        await page.getByText('Say which lot it is.').waitFor();
        expect(on.fake.acts).toHaveLength(0);
        await page.getByRole('radio', { name: 'rack-a' }).check();
        await page.getByLabel('Lot').fill('K-300');
        await page.getByRole('radio', { name: '2 min ago' }).check();
        await page.getByRole('button', { name: 'Start', exact: true }).click();
        await page.getByText('Recorded: K-300 in rack-a since 14:24.').waitFor();
        expect(on.fake.acts[0]?.body).toMatchObject({
          event: 'load-start',
          lot: 'K-300',
          recipe: 'rack-shell',
          t: on.fake.nowMs() - 120_000,
        });
      }),
    ),
  patient,
);

test(
  'a load is ended by hand in two steps',
  () =>
    played(wholeScene, (on) =>
      see(on, { ...desk, path: '/load/P1-00231' }, async (page) => {
        await page.getByRole('button', { name: 'End this load' }).click();
        expect(on.fake.acts).toHaveLength(0);
        await page.getByRole('button', { name: 'Yes, it is out' }).click();
        await page.getByText('Recorded. The record is sealed').waitFor();
        expect(on.fake.acts[0]).toMatchObject({ kind: 'load-end', about: { load: 'P1-00231' } });
      }),
    ),
  patient,
);
