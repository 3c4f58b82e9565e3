import {
  mkdtempSync,
  readdirSync,
  copyFileSync,
  mkdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { SMTPServer } from 'smtp-server';
import { afterAll, expect, test } from 'vitest';
import { inHall, patient, rooms, settled, warm, type Hall } from './hall.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';

const folder = mkdtempSync(join(tmpdir(), 'told-'));
const mails: string[] = [];
const posts: string[] = [];
let isDown = true;

const smtp = new SMTPServer({
  authOptional: true,
  disabledCommands: ['STARTTLS'],
  onData(stream, _session, done) {
    let text = '';
    stream.on('data', (chunk: Buffer) => (text += chunk.toString('utf8')));
    stream.on('end', () => {
      mails.push(text);
      done();
    });
  },
});
const hook = createServer((request, response) => {
  let body = '';
  request.on('data', (chunk: Buffer) => (body += chunk.toString('utf8')));
  request.on('end', () => {
    if (!isDown) posts.push(body);
    response.writeHead(isDown ? 503 : 204).end();
  });
});
await new Promise<void>((resolve) => smtp.listen(0, '127.0.0.1', () => resolve()));
await new Promise<void>((resolve) => hook.listen(0, '127.0.0.1', () => resolve()));
const port = (address: unknown): string => String((address as AddressInfo).port);

/** The hall, with somebody to tell. */
function ownPlant(): string {
  const hall = new URL('../fixtures/hall/', import.meta.url).pathname;
  const file = join(folder, 'plant.yaml');
  mkdirSync(join(folder, 'recipes'));
  for (const name of readdirSync(join(hall, 'recipes'))) {
    copyFileSync(join(hall, 'recipes', name), join(folder, 'recipes', name));
  }
  writeFileSync(join(folder, 'secret'), 's'.repeat(40));
  const tell = `
tell:
  mail: { host: 127.0.0.1, port: ${port(smtp.server.address())}, security: none, from: setwell@plant.example }
  routes:
    - { id: lead, by: mail, jobs: [shift-lead], to: [lead@plant.example] }
    - { id: andon, by: webhook, jobs: [shift-lead], url: "http://127.0.0.1:${port(hook.address())}/", secretFile: ${join(folder, 'secret')}, allow: [127.0.0.1] }
    - { id: lamp, by: lamp, jobs: [shift-lead], topic: setwell/hall/lamp }
`;
  writeFileSync(file, readFileSync(join(hall, 'plant.yaml'), 'utf8') + tell);
  return file;
}

let hall: Hall;
let page: Page;
inHall(async (opened) => {
  ({ hall, page } = opened);
  await page.addInitScript(() => localStorage.setItem('setwell.job', 'administrator'));
}, ownPlant());

afterAll(async () => {
  await new Promise<void>((resolve) => smtp.close(() => resolve()));
  await new Promise((resolve) => hook.close(resolve));
  rmSync(folder, { recursive: true });
});

test(
  'who is told stands in Settings, with what became of each message, and a test at the press of a button',
  async () => {
    await hall.event('oven-1', 'load-start', { load: 'O1-1' });
    await hall.play(1, { ...rooms, ...warm });
    await settled(() => mails.length).toBe(1);
    await page.goto(`${hall.url}/settings?lang=en&theme=light`);
    await page.getByText('lead: mail to shift lead').waitFor();
    await page.getByText('lamp: lamp to shift lead').waitFor();
    const row = (route: string) =>
      page.locator('tr', { has: page.getByRole('cell', { name: route, exact: true }) });
    await settled(() => row('lead').innerText()).toMatch(/oven-1 which lot is in oven-1\?\s+sent/);
    await settled(() => row('andon').innerText()).toMatch(/tries: \d+, again .*503/);
    await pictured(page, 'settings-who-is-told', page.locator('.told-routes'));
    expect(await page.getByRole('button', { name: /^Send a test by/ }).count()).toBe(2);
    await page.getByRole('button', { name: 'Send a test by lead' }).click();
    await page.getByText('A test is on its way').waitFor();
    isDown = false;
    await hall.play(2, { ...rooms, ...warm });
    await settled(() => [mails.length, posts.length]).toEqual([2, 1]);
    await settled(() => row('lead').first().innerText()).toMatch(/a test\s+sent/);
    await settled(() => row('andon').innerText()).toMatch(/sent/);
    expect(await faultsOf(page)).toEqual([]);
    expect(mails[1]).toContain('Nobody is called');
    // Started anew, it tells nobody a second time of what stands.
    await hall.stopCollector();
    await hall.startCollector();
    await hall.play(1, { ...rooms, ...warm });
    expect([mails.length, posts.length]).toEqual([2, 1]);
  },
  patient,
);
