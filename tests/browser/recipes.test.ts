import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, expect, test } from 'vitest';
import type { RecipeDetail, RecipeRow } from '@setwell/shared-models/api/recipe';
import { inHall, patient, settled, type Hall } from './hall.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';

const fixture = new URL('../fixtures/hall', import.meta.url).pathname;
const folder = mkdtempSync(join(tmpdir(), 'setwell-recipes-'));
cpSync(fixture, folder, { recursive: true });
afterAll(() => rmSync(folder, { recursive: true }));
const file = join(folder, 'recipes/shell-13ply.yaml');
const first = readFileSync(file, 'utf8');

/** What a fit of a schedule says of its constants. */
const covariance = `  covariance:
    names: [activationEnergyJPerMol, lnReferenceMin]
    matrix: [[9.0e+6, 30], [30, 4.0e-4]]
`;
const second = first
  .replace('least: 6, most: 40', 'least: 7, most: 40, noReturn: 2')
  .replace('window:', `${covariance}  floorC: 80.25\nwindow:`)
  .replace('requirements:', 'limits: [{ phase: hold, minC: 136.5, maxC: 140 }]\nrequirements:')
  .replace(
    'requirements:\n',
    `requirements:
  - kind: pressure
    minNPerMm2: 1.445
    maxNPerMm2: 1.8
    coveredBy: measured
    severity: { long: deviation }
    source: invented sheet, page 4
`,
  );

let hall: Hall;
let page: Page;
inHall(
  async (opened) => {
    ({ hall, page } = opened);
    await page.goto(`${hall.url}/?lang=en&theme=light`);
  },
  join(folder, 'plant.yaml'),
);

/** The plant's folder says something else, and the collector is started on it. */
async function set(text: string | null): Promise<void> {
  await hall.stopCollector();
  if (text === null) rmSync(file);
  else writeFileSync(file, text);
  await hall.startCollector();
}

const main = () => page.locator('main').innerText();

/** Whole on a phone, a desk and a wall-sized screen, light and dark. */
async function isWhole(): Promise<void> {
  for (const width of [390, 1440, 3840]) {
    await page.setViewportSize({ width, height: 900 });
    for (const theme of ['light', 'dark']) {
      await page.evaluate((each) => (document.documentElement.dataset['theme'] = each), theme);
      expect([width, theme, await faultsOf(page)]).toEqual([width, theme, []]);
    }
  }
  await page.evaluate(() => (document.documentElement.dataset['theme'] = 'light'));
  await page.setViewportSize({ width: 1440, height: 900 });
}

test(
  'recipes are reached by the tab and by the keyboard, each with its window and who approved it',
  async () => {
    await page.getByRole('link', { name: 'Recipes', exact: true }).focus();
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Recipes', level: 1 }).waitFor();
    const row = page.getByRole('row').filter({ hasText: 'shell-13ply' });
    await row.waitFor();
    expect(await row.innerText()).toMatch(
      /Chair shell, 13 plies\s+6 to 40 equivalent min\s+24 min\s+Revision 1, \d+ \w+ 2026/,
    );
    await isWhole();
    await pictured(page, 'recipes');
    await page.getByLabel('Find a recipe').fill('narrow');
    expect(await page.getByRole('row').filter({ hasText: 'shell' }).count()).toBe(1);
    await page.getByLabel('Find a recipe').fill('nothing like it');
    await page.getByText('No recipe is called “nothing like it” or like it.').waitFor();
    await page.getByLabel('Find a recipe').fill('');
  },
  patient,
);

test(
  'a recipe says its window as a picture and a table, its law with its errors, and how each requirement is heard',
  async () => {
    await set(second);
    await page.goto(`${hall.url}/recipes/shell-13ply?lang=en&theme=light`);
    await settled(main).toMatch(/Revision 2 may be started now \(Press\)/);
    const text = await main();
    for (const told of [
      'At its worst place 7 to 40 equivalent min.',
      'Past 2 equivalent min a glue line that was opened is not pressed again.',
      'Source: invented trials',
      'the minutes at 135 °C that do as much',
      'vouches for 105 to 150 °C',
      '90 kJ/mol',
      '± 3 kJ/mol',
      'Below 80.25 °C nothing is earned.',
      '136.5 to 140 °C',
      // 30 / √(9e6 · 4e-4)
      '30 (0.50)',
      '19.5 mm in all, 12 glue lines.',
      '± 8 % of how fast heat goes through',
    ]) {
      expect(text).toContain(told);
    }
    const pressure = page.getByRole('row').filter({ hasText: 'N/mm²' });
    expect(await pressure.innerText()).toMatch(
      /pressure\s+1\.445–1\.8 N\/mm²\s+measured by points of the station\s+too little: of the verdict; too much: a deviation on the record\s+invented sheet, page 4/,
    );
    // 7·exp((E/R)·(1/393.15 − 1/408.15)) by ASTM C1074-19, eq. 2; in the picture's name as in the table.
    const held = page.getByRole('row').filter({ hasText: '120 °C' });
    expect(await held.innerText()).toMatch(
      /19\.3 min\s+\d+\.\d min to \d+\.\d min\s+110 min\s+\d+ min to \d+ min/,
    );
    await page.getByRole('img', { name: /^Time against held temperature: at 105 °C/ }).waitFor();
    await page.getByRole('img', { name: /^Cut through 19.5 mm, glue lines at 1.5, 3,/ }).waitFor();
    await isWhole();
    await pictured(page, 'recipe');
  },
  patient,
);

test(
  'revisions say who set them, when, and what each says differently; an earlier one is looked at',
  async () => {
    const changes = page.locator('.changes').first();
    expect(await changes.innerText()).toMatch(/window\.least\s+6\s+7/);
    expect(await changes.innerText()).toMatch(/law\.covariance\.names\s+–\s+activationEnergy/);
    expect(await main()).toMatch(/Approved .* 2026 .*: it lies in the plant’s recipe folder/);
    await page.getByRole('button', { name: 'Look at revision 1' }).click();
    await page.getByText('Below is revision 1.').waitFor();
    expect(await main()).toContain('At its worst place 6 to 40 equivalent min.');
    expect(await main()).toContain('No standard errors are stated');
  },
  patient,
);

test(
  'one glue line is one, a dose is of light, and a page that is not answered does not say “not known”',
  async () => {
    const address = '**/api/v1/recipes/shell-13ply';
    await page.route(address, async (route) => {
      const detail = (await (await route.fetch()).json()) as RecipeDetail;
      detail.said?.cuts.forEach((cut) => cut.linesMm.splice(1));
      if (detail.said !== null) detail.said.recipe.law = { form: 'dose' };
      await route.fulfill({ json: detail });
    });
    await page.goto(`${hall.url}/recipes/shell-13ply?lang=en&theme=light`);
    await settled(main).toMatch(/19\.5 mm in all, 1 glue line\./);
    expect(await main()).toMatch(/when the light falls on the coat/);
    expect(await main()).not.toMatch(/itself is that warm/);
    await page.unroute(address);
    await page.route(address, (route) => route.fulfill({ status: 503, body: '{}' }));
    await page.reload();
    await page.getByRole('heading', { name: 'shell-13ply', level: 1 }).waitFor();
    await settled(main).not.toMatch(/…/);
    expect(await main()).not.toMatch(/is known/);
    await page.unroute(address);
  },
  patient,
);

test(
  'one whose text is not at hand has a row that says so',
  async () => {
    const address = '**/api/v1/recipes';
    await page.route(address, async (route) => {
      const told = (await (await route.fetch()).json()) as { recipes: RecipeRow[] };
      const recipes = told.recipes.map((row) =>
        row.id === 'shell-13ply' ? { ...row, kind: null, window: null, plannedMin: null } : row,
      );
      await route.fulfill({ json: { ...told, recipes } });
    });
    await page.goto(`${hall.url}/recipes?lang=en&theme=light`);
    await page.getByRole('heading', { name: 'What they say is not at hand' }).waitFor();
    const row = page.getByRole('row').filter({ hasText: 'shell-13ply' });
    expect(await row.innerText()).toMatch(
      /Chair shell, 13 plies What this revision says is not at hand/,
    );
    await isWhole();
    await page.unroute(address);
  },
  patient,
);

test(
  'it speaks German and °F, and stands on paper without its buttons',
  async () => {
    await page.goto(`${hall.url}/recipes/shell-13ply?lang=de&degrees=F`);
    await settled(main).toMatch(/Revision 2 darf jetzt beginnen/);
    expect(await main()).toMatch(/die Minuten bei 275 °F/);
    expect(await main()).toMatch(/221 bis 302 °F/);
    expect(await main()).toMatch(/± 2,7 °F Unterschied innerhalb einer Zone/);
    await page.emulateMedia({ media: 'print' });
    expect(await page.getByRole('button', { name: 'Drucken' }).isVisible()).toBe(false);
    expect(await page.getByText('Härtungsgesetz').isVisible()).toBe(true);
    await page.emulateMedia({ media: null });
  },
  patient,
);

test(
  'one that has left the folder says so, and who withdrew it; what nobody knows is told',
  async () => {
    await set(null);
    await page.goto(`${hall.url}/recipes/shell-13ply?lang=en&degrees=C`);
    await settled(main).toMatch(/No revision of it may be started now\./);
    expect(await main()).toMatch(/Withdrawn .*: it lies in the plant’s recipe folder no more/);
    await page.getByRole('link', { name: 'All recipes' }).click();
    await page.getByRole('heading', { name: 'May not be started any more: 1' }).waitFor();
    const asked = async (path: string) => fetch(`${hall.url}/api/v1/recipes/${path}`);
    expect((await asked('nothing')).status).toBe(404);
    expect((await asked('shell-13ply?revision=9')).status).toBe(404);
    expect((await asked('shell-13ply?revision=x')).status).toBe(422);
    const detail = (await (await asked('shell-13ply')).json()) as RecipeDetail;
    expect(detail).toMatchObject({ startable: null, revision: 2 });
    await page.goto(`${hall.url}/recipes/nothing?lang=en`);
    await page.getByText('No approved recipe “nothing” is known.').waitFor();
  },
  patient,
);
