import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openLedger } from '@setwell/collector/ledger/ledger';
import { openJournalReader } from '@setwell/collector/journal/journal';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { atClock, demoStartMs, minuteMs } from '@setwell/deploy/demo/calendar';
import { makeFirstDays } from '@setwell/deploy/demo/first-days';
import type { Entry } from '@setwell/shared-models/record/entry';
import type {
  CallRaised,
  ImpactReviewed,
  LoadOpened,
  LoadSealed,
} from '@setwell/shared-models/record/bodies';

const plantFile = fileURLToPath(new URL('../../deploy/demo/plant.yaml', import.meta.url));

/** The last hour before the demo's clock begins: the same way as the whole history, in seconds. */
const lastHour = { plantFile, seed: 1, fromMs: demoStartMs - 65 * minuteMs };

let folder: string;
let lines: string[];
let entries: Entry[];

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'setwell-history-'));
  await makeFirstDays({ ...lastHour, dataDir: join(folder, 'first') });
  lines = ledgerLines('first');
  entries = lines.map((line) => JSON.parse(line) as Entry);
}, 60_000);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function ledgerLines(data: string): string[] {
  const ledger = openLedger(
    join(folder, data, 'ledger.db'),
    'demo-works/c1/1',
    new SteppedClock(0),
  );
  const stored = ledger.entriesAfter(-1, 10_000).map(({ bytes }) => bytes.toString('utf8'));
  ledger.close();
  return stored;
}

function bodiesOf<Body>(kind: Entry['kind']): { about: Entry['about']; body: Body }[] {
  return entries
    .filter((entry) => entry.kind === kind)
    .map(({ about, body }) => ({ about, body: body as Body }));
}

describe('the demo history', () => {
  it('leaves press-1 with loads in window and press-2 with one that was opened too early', () => {
    const verdicts = bodiesOf<LoadSealed>('load-sealed').map(
      ({ about, body }) => `${about.station} ${body.verdict}`,
    );
    expect(verdicts).toContain('press-1 in-window');
    expect(verdicts).toContain('press-2 unproven');
    expect(verdicts).not.toContain('press-1 unproven');
  });

  it('leaves loads running: two on press-1, one on press-2 that would be short at its plan', () => {
    const sealed = new Set(bodiesOf('load-ended').map(({ about }) => about.load));
    const running = bodiesOf<LoadOpened>('load-opened')
      .map(({ body }) => body.load)
      .filter((load) => !sealed.has(load));
    expect(running).toEqual(expect.arrayContaining(['P1-00231', 'P1-00232', 'P2-00539']));
    const short = bodiesOf<CallRaised>('call-raised').filter(
      ({ body }) => body.kind === 'short-at-plan' && body.station === 'press-2',
    );
    expect(short.length).toBeGreaterThan(0);
  });

  it('has the sensor that is out called for', () => {
    expect(
      bodiesOf<CallRaised>('call-raised').map(({ body }) => `${body.kind} ${body.point}`),
    ).toContain('sensor-silent o1-z2');
  });

  it('leaves feet glued in window at the bench, and buttons from the lamp box for people to decide', () => {
    const bench = bodiesOf<LoadSealed>('load-sealed').filter(
      ({ about }) => about.station === 'bench-1',
    );
    expect(bench.map(({ body }) => body.verdict)).toEqual(['in-window']);
    const [lamp] = bodiesOf<LoadSealed>('load-sealed').filter(
      ({ about }) => about.station === 'uv-1',
    );
    expect(lamp?.body).toMatchObject({ verdict: 'unproven', worst: null });
    const [held] = bodiesOf<CallRaised>('call-raised').filter(
      ({ body }) => body.station === 'uv-1',
    );
    expect(held?.body.kind).toBe('ended-unproven');
  });

  it('has an instrument that came back 3.5 K off, and the loads it may have spoilt', () => {
    const [review] = bodiesOf<ImpactReviewed>('impact-reviewed');
    expect(review?.body).toMatchObject({
      instrument: 'p1-3l',
      certificate: 'C-0447',
      lastGoodBy: 'C-0405',
    });
    // Less what its last certificate had corrected.
    expect(review?.body.errorK).toBeCloseTo(3.5 + 0.2, 1);
    expect(review?.body.counts.narrower).toBeGreaterThan(0);
  });

  it('tells nothing that the collector would not believe', () => {
    const kinds = bodiesOf<CallRaised>('call-raised').map(({ body }) => body.kind);
    expect(kinds).not.toContain('event-refused');
    const journal = openJournalReader(join(folder, 'first/journal.db'));
    expect(journal.rejects(10)).toEqual([]);
    journal.close();
  });

  it('gives no sensor a past fault: a trial day at the oven, and a night with the presses off', async () => {
    const night = { fromMs: atClock(1, 0.5), toMs: atClock(1, 5.5) };
    const past = [{ day: -2, commits: [] }];
    await makeFirstDays({ ...lastHour, ...night, past, dataDir: join(folder, 'night') });
    const told = ledgerLines('night').map((line) => JSON.parse(line) as Entry);
    expect(told.filter(({ kind }) => kind === 'load-sealed').length).toBeGreaterThan(0);
    expect(told.filter(({ kind }) => kind === 'fault-found')).toEqual([]);
  });

  it('comes out the same, to the byte, when it is made again, but for the key that nobody has twice', async () => {
    await makeFirstDays({ ...lastHour, dataDir: join(folder, 'second') });
    const [started, ...rest] = ledgerLines('second');
    expect(rest).toEqual(lines.slice(1));
    expect(JSON.parse(started!)).toMatchObject({ kind: 'log-started', n: 0 });
  }, 60_000);
});
