import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { startDashboard, type Dashboard } from '@setwell/dashboard/server/server';
import { openWorks, plantFile, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';
import { until } from '../fixtures/until.ts';
import { scan } from './keyboard.ts';
import { webAndBrowser } from './staged.ts';

const patient = 300_000;
/** Would be heard of in `window.said`, if a browser took any of it for more than a text. */
const hostile = {
  image: '<img src=x onerror=said=1>',
  script: '</script><script>said=2</script>',
  attribute: '"\' autofocus onfocus=said=3 x="',
  address: 'javascript:said=4',
  template: '${said=5}{{said=5}}',
  drawing: '<svg/onload=said=6>',
};
const given = webAndBrowser();
let folder: string;
let works: Works;
let collector: Collector;
let dashboard: Dashboard;
let url: string;

/** A plant in which everybody who may write a text writes a hostile one: files, controllers, people. */
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'setwell-hostile-'));
  cpSync(join(plantFile, '..'), join(folder, 'plant'), { recursive: true });
  const own = join(folder, 'plant', 'plant.yaml');
  const quoted = (text: string) => JSON.stringify(text);
  const plant = readFileSync(own, 'utf8')
    .replace('site: { id: test-works,', `site: { id: test-works, title: ${quoted(hostile.script)},`)
    .replace('- id: press-1\n', `- id: press-1\n    title: ${quoted(hostile.image)}\n`)
    .replace('certificate: C-1\n', `certificate: ${quoted(hostile.drawing)}\n`);
  writeFileSync(own, plant);
  const recipe = join(folder, 'plant', 'recipes', 'shell-13ply.yaml');
  const text = readFileSync(recipe, 'utf8')
    .replace('title: Chair shell, 13 plies', `title: ${quoted(hostile.image)}`)
    .replace('source: invented data sheet', `source: ${quoted(hostile.address)}`);
  writeFileSync(recipe, text);
  works = openWorks(own);
  const lot = hostile.image;
  const by = hostile.attribute;
  works.event('load-start', {
    load: hostile.drawing,
    lot,
    recipe: 'shell-13ply',
    by,
    parts: [hostile.script],
  });
  works.press(2, usualFaceC);
  works.event('note', { load: hostile.drawing, text: hostile.template, by });
  works.event('load-end', { load: hostile.drawing, by });
  works.press(3, usualFaceC);
  works.event('load-start', {
    load: hostile.attribute,
    lot: hostile.script,
    recipe: hostile.image,
  });
  works.event('unheard-of', { text: hostile.image });
  works.press(1, usualFaceC);
  await works.collector.stop();
  const { dataDir, clock } = works;
  collector = createCollector({
    ...{ plantFile: own, dataDir, clock, keyDir: join(dataDir, 'keys'), version: 'test' },
    clockSetting: { originMs: clock.nowMs(), wallOriginMs: 0, rate: 0 },
    judge: 'inline',
    serve: {},
  });
  const { url: collectorUrl, tokenFile } = await collector.start();
  const junk = Buffer.from(hostile.image);
  const handed = { payload: junk, retained: false, queued: false, act: null };
  collector.accept([
    { topic: 'plant/press-1/p1-ul', ...handed },
    { topic: `plant/press-1/${hostile.image}`, ...handed },
  ]);
  dashboard = await startDashboard({
    collectorUrl: collectorUrl!,
    token: readFileSync(tokenFile!, 'utf8').trim(),
    ...{ port: 0, dataFolder: join(folder, 'pages'), webFolder: given.web, version: 'test' },
    log: () => {},
  });
  url = `http://127.0.0.1:${String(dashboard.port)}`;
  await until(async () => {
    const answer = await fetch(`${url}/api/v1/loads`);
    return answer.ok && (await answer.text()).includes('onerror');
  });
}, patient);

afterAll(async () => {
  await dashboard.stop();
  await collector.stop();
  await works.end();
  rmSync(folder, { recursive: true, force: true });
}, patient);

/** What a browser has made of the texts beside showing them. */
async function takenForMore(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const found: string[] = [];
    if ('said' in window) found.push(`ran ${String(window.said)}`);
    for (const element of document.querySelectorAll('*')) {
      for (const { name, value } of element.attributes) {
        if (name.startsWith('on')) found.push(`${element.tagName} ${name}`);
        if (/^\s*javascript:/i.test(value) && name === 'href') found.push(value);
      }
    }
    if (document.querySelector('img[src=x], script:not([src]):not([type])') !== null) {
      found.push('an element of a text');
    }
    return found;
  });
}

const screens = [
  ...['/', '/calls', '/lots', '/records', '/sensors', '/sensors/health', '/sensors/due', '/start'],
  ...[
    '/heat-up',
    '/heat-up/press-1',
    '/handover',
    '/settings',
    '/settings/upkeep',
    '/last/press-1',
  ],
  ...['/sensors/p1-ul', '/settings/people-kept', '/act-card/press-1', '/scanner'],
  ...[hostile.drawing, hostile.attribute].map((load) => `/load/${encodeURIComponent(load)}`),
  ...[hostile.image, hostile.script].map((lot) => `/lots/${encodeURIComponent(lot)}`),
  `/records/${encodeURIComponent(hostile.image)}`,
];

test(
  'texts of files, controllers and people are shown as texts on every screen, and run on none',
  async () => {
    const context = await given.browser.newContext({ viewport: { width: 1440, height: 900 } });
    const page = await context.newPage();
    const broken: string[] = [];
    page.on('dialog', (dialog) => void dialog.dismiss().then(() => broken.push('a dialog')));
    page.on('console', (message) => {
      if (/Content Security Policy/i.test(message.text())) broken.push(message.text());
    });
    let seen = '';
    for (const screen of screens) {
      await page.goto(`${url}${screen}?lang=en&theme=light`);
      await page.locator('main').first().waitFor();
      await page.waitForLoadState('networkidle').catch(() => undefined);
      expect([screen, await takenForMore(page)]).toEqual([screen, []]);
      seen += await page.locator('body').innerText();
    }
    expect(broken).toEqual([]);
    // They were there to be seen.
    for (const text of [hostile.image, hostile.drawing, hostile.script]) {
      expect(seen).toContain(text);
    }
    await context.close();
  },
  patient,
);

test(
  'a code that is scanned is shown as a text',
  async () => {
    const context = await given.browser.newContext({ viewport: { width: 1440, height: 900 } });
    const page = await context.newPage();
    await page.goto(`${url}/?lang=en&theme=light`);
    await page.locator('li[data-station="press-1"]').waitFor();
    for (const text of Object.values(hostile)) {
      await scan(page, text);
      expect([text, await takenForMore(page)]).toEqual([text, []]);
    }
    await context.close();
  },
  patient,
);
