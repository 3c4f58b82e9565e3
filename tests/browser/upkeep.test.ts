import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import type { Bus } from '@setwell/collector/intake/bus';
import { newAuthority, newServer } from '@setwell/collector/cli/plant-authority';
import { noteBackup } from '@setwell/collector/serve/health/kept-notes';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { startDashboard, type Dashboard } from '@setwell/dashboard/server/server';
import type { Entry } from '@setwell/shared-models/record/entry';
import { plantFile } from '../fixtures/press-plant/works.ts';
import { freePort } from '../fixtures/free-port.ts';
import { until } from '../fixtures/until.ts';
import { pictured } from './pictures.ts';
import { shown } from './pressed-plant.ts';
import { faultsOf } from './screen-quality.ts';
import { webAndBrowser } from './staged.ts';

const patient = 240_000;
const dayMs = 86_400_000;
const password = 'a long walk to the press';

const given = webAndBrowser();
let box: Box;

beforeAll(async () => {
  box = await Box.open();
}, patient);

afterAll(() => box.close(), patient);

/** The test hands readings over itself; what is beside it is a broker that answers. */
const connectedBus: Bus = {
  status: () => ({ connected: true, sinceMs: 0, url: 'mqtt://127.0.0.1:1883', faults: [] }),
  onStatus: () => () => {},
  publish: () => {},
  close: () => Promise.resolve(),
};

/** A box with all that is looked after, each thing of which a test can make false. */
class Box {
  readonly folder = mkdtempSync(join(tmpdir(), 'setwell-upkeep-'));
  readonly dataDir = join(this.folder, 'data');
  readonly certificate = join(this.folder, 'server.pem');
  clock = new SteppedClock(Date.now());
  used = 0.4;
  synchronised = true;
  /** People's and walls' own time runs ahead by so much [ms]. */
  aheadMs = 0;
  version = '0.2.0';
  commit = 'b'.repeat(40);
  #collector: Collector | null = null;
  #dashboard: Dashboard | null = null;
  #token = '';
  #ports: readonly [number, number] = [0, 0];

  static async open(): Promise<Box> {
    const opened = new Box();
    opened.#ports = [await freePort(), await freePort()];
    await opened.certifyFor(397);
    await opened.startCollector();
    await opened.startDashboard('0.2.0');
    return opened;
  }

  get url(): string {
    return `http://127.0.0.1:${String(this.#ports[1])}`;
  }

  /** A certificate that ends so many days from now. */
  async certifyFor(days: number): Promise<void> {
    const madeMs = this.clock.nowMs() - (397 - days) * dayMs;
    const authority = await newAuthority('test', madeMs);
    const { certificatePem } = await newServer(['localhost'], authority, madeMs);
    writeFileSync(this.certificate, certificatePem);
  }

  /** Time goes by, and the points speak at its end unless they are silent. */
  wait(ms: number, speak = true): void {
    this.clock.advance(ms);
    const now = { t: this.clock.nowMs(), v: 21 };
    const payload = Buffer.from(JSON.stringify(now));
    const topics = ['plant/press-1/p1-ul', 'plant/press-1/p1-ll', 'plant/rack-a/ra-1'];
    const handed = { payload, retained: false, queued: false, act: null };
    if (speak) this.#collector?.accept(topics.map((topic) => ({ topic, ...handed })));
    this.clock.advance(6_000);
  }

  /** The box is off for so long, or nobody looks; then it goes on. */
  async later(days: number): Promise<void> {
    await this.#collector?.stop();
    this.clock = new SteppedClock(this.clock.nowMs() + days * dayMs);
    await this.startCollector();
  }

  async startCollector(): Promise<void> {
    this.#collector = createCollector({
      ...{ plantFile, dataDir: this.dataDir, clock: this.clock, judge: 'inline' },
      ...{ version: this.version, commit: this.commit, pagesCertificate: this.certificate },
      clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
      bus: () => connectedBus,
      stepEveryMs: 60_000,
      usedShare: () => this.used,
      isSynchronised: () => Promise.resolve(this.synchronised),
      serve: { port: this.#ports[0] },
    });
    const { tokenFile } = await this.#collector.start();
    this.#token = readFileSync(tokenFile!, 'utf8').trim();
    await Promise.resolve();
    this.wait(1_000);
  }

  async startDashboard(version: string): Promise<void> {
    await this.#dashboard?.stop();
    this.#dashboard = await startDashboard({
      ...{ collectorUrl: `http://127.0.0.1:${String(this.#ports[0])}`, token: this.#token },
      ...{ port: this.#ports[1], version },
      ...{ dataFolder: join(this.folder, 'pages'), webFolder: given.web, greetEveryMs: 100 },
      nowMs: () => Date.now() + this.aheadMs,
      log: () => {},
    });
  }

  setupCode(): string {
    return readFileSync(join(this.folder, 'pages', 'setup-code'), 'utf8').trim();
  }

  /** What the administrator is called for now, by its code. */
  called(): string[] {
    const up = new Map<string, string>();
    for (const { bytes } of this.#collector!.ledger.entriesAfter(-1, 10_000)) {
      const { kind, about, body } = JSON.parse(bytes.toString('utf8')) as Entry<{
        who?: string;
        values?: { because?: string };
      }>;
      if (kind === 'call-raised' && body.who === 'administrator') {
        up.set(about.call ?? '', body.values?.because ?? '');
      }
      if (kind === 'call-cleared') up.delete(about.call ?? '');
    }
    return [...up.values()].sort();
  }

  async close(): Promise<void> {
    await this.#dashboard?.stop();
    await this.#collector?.stop();
    rmSync(this.folder, { recursive: true });
  }
}

/** Rows that need somebody, as the page shows them. */
const falseRows = (page: Page) =>
  page
    .locator('.upkeep-rows li[data-well="false"]')
    .evaluateAll((rows) => rows.map((row) => row.getAttribute('data-row')));

async function post(page: Page, path: string, body: object): Promise<number> {
  return page.evaluate(
    async ([at, text]) => {
      const headers = { 'content-type': 'application/json' };
      return (await fetch(`/api/v1${at}`, { method: 'POST', headers, body: text })).status;
    },
    [path, JSON.stringify(body)] as const,
  );
}

/** Each thing false once: how it becomes false, how it is put right, what is shown and who is called. */
const falsities: {
  name: string;
  rows: string[];
  called: string[];
  spoil: () => unknown;
  mend: () => unknown;
}[] = [
  {
    name: 'nothing is recorded',
    rows: ['recording'],
    called: ['not-recording'],
    spoil: () => box.wait(600_000, false),
    mend: () => box.wait(1_000),
  },
  {
    name: 'the disk fills up',
    rows: ['disk'],
    called: ['disk-ends'],
    spoil: async () => {
      await box.later(2);
      box.used = 0.5;
      box.wait(1_000);
    },
    mend: () => {
      box.used = 0.4;
      box.wait(1_000);
    },
  },
  {
    name: 'the data are not copied for nine days',
    rows: ['backup'],
    called: ['backup-old'],
    spoil: () => box.later(9),
    mend: () => {
      noteBackup(box.dataDir, { madeMs: box.clock.nowMs() });
      box.wait(1_000);
    },
  },
  {
    name: 'no copy is put back for a hundred days',
    rows: ['restore'],
    called: ['restore-untried'],
    spoil: () => {
      noteBackup(box.dataDir, { triedMs: box.clock.nowMs() - 101 * dayMs });
      box.wait(1_000);
    },
    mend: () => {
      noteBackup(box.dataDir, { triedMs: box.clock.nowMs() });
      box.wait(1_000);
    },
  },
  {
    name: 'the clock follows nobody',
    rows: ['clock'],
    called: ['clock-unsynchronised'],
    spoil: async () => {
      box.synchronised = false;
      await box.later(0);
    },
    mend: async () => {
      box.synchronised = true;
      await box.later(0);
    },
  },
  {
    name: 'a certificate ends in twenty days',
    rows: ['certificates'],
    called: ['certificate-ends'],
    spoil: async () => {
      await box.certifyFor(20);
      await box.later(0);
    },
    mend: async () => {
      await box.certifyFor(397);
      await box.later(0);
    },
  },
  {
    name: 'a certificate cannot be read',
    rows: ['certificates'],
    called: ['certificate-unread'],
    spoil: async () => {
      writeFileSync(box.certificate, 'not a certificate');
      await box.later(0);
    },
    mend: async () => {
      await box.certifyFor(397);
      await box.later(0);
    },
  },
  {
    name: 'a wall is not seen',
    rows: ['walls'],
    called: ['wall-unseen'],
    spoil: () => (box.aheadMs = 5 * 60_000),
    mend: () => (box.aheadMs = 0),
  },
  {
    name: 'the pages are of another version',
    rows: ['version'],
    called: ['version-mixed'],
    spoil: () => box.startDashboard('0.1.0'),
    mend: () => box.startDashboard('0.2.0'),
  },
];

test(
  'each thing that is looked after is shown when it is false, calls the administrator once, and is let go when it is right',
  async () => {
    noteBackup(box.dataDir, { madeMs: box.clock.nowMs(), triedMs: box.clock.nowMs() });
    const context = await given.browser.newContext({ viewport: { width: 1440, height: 900 } });
    const page = await context.newPage();
    await page.goto(`${box.url}/settings/upkeep?lang=en&theme=light`);
    const first = { code: box.setupCode(), name: 'Ada Berg', password };
    expect(await post(page, '/setup', first)).toBe(200);
    await pairWall(page);

    const settled = async (rows: string[], called: string[]) => {
      await until(async () => {
        box.wait(1_000, rows[0] !== 'recording');
        const seen = await falseRows(page);
        return seen.join() === rows.join() && box.called().join() === called.join();
      });
    };
    await settled([], []);
    // How long the disk lasts is not known on the first day: no tick says that it is well.
    await page.getByText('1 of 8 are not done yet, or not known.').waitFor();
    const disk = page.locator('.upkeep-rows li[data-row="disk"] .state');
    expect(await disk.innerText()).not.toContain('as it must be');
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'upkeep-well-light');
    for (const { name, rows, called, spoil, mend } of falsities) {
      await spoil();
      await settled(rows, called);
      await shown(page, `upkeep-${name.replaceAll(' ', '-')}`);
      await mend();
      await settled([], []);
    }
    await page.getByText('All of it is as it must be.').waitFor();
    await context.close();
  },
  patient,
);

/** A wall that has been paired and seen once. */
async function pairWall(page: Page): Promise<void> {
  const wall = '6f1c3c52-9f0e-4d0c-8a27-6a1d6a6b7c11';
  const asked = async () =>
    (await (await fetch(`${box.url}/api/v1/pairing?wall=${wall}`)).json()) as { code: string };
  const { code } = await asked();
  expect(await post(page, '/sign', { password, meaning: 'granted' })).toBe(200);
  expect(await post(page, '/devices/pair', { code, name: 'Wall at press 1' })).toBe(200);
  const taken = await fetch(`${box.url}/api/v1/pairing?wall=${wall}`);
  const [cookie = ''] = taken.headers.getSetCookie();
  const headers = { cookie: cookie.slice(0, cookie.indexOf(';')) };
  expect((await fetch(`${box.url}/api/v1/stations`, { headers })).status).toBe(200);
}

test(
  'after an update the page says what ran before, and how to go back to it',
  async () => {
    box.version = '0.3.0';
    box.commit = 'c'.repeat(40);
    await box.later(0);
    await box.startDashboard('0.3.0');
    const context = await given.browser.newContext({ viewport: { width: 390, height: 844 } });
    const page = await context.newPage();
    await page.goto(`${box.url}/settings/upkeep?lang=de&theme=dark`);
    expect(await post(page, '/sign-in', { name: 'Ada Berg', password })).toBe(200);
    await page.reload();
    await page.getByText('Vor dieser lief 0.2.0 (bbbbbbb)').waitFor();
    expect(await page.locator('.commands').innerText()).toContain(`git checkout ${'b'.repeat(40)}`);
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'upkeep-back-dark');
    await context.close();
  },
  patient,
);
