import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import {
  openJournal,
  openJournalReader,
  type JournalItem,
} from '@setwell/collector/journal/journal';
import { Documents } from '@setwell/collector/judge/documents';
import { Judge } from '@setwell/collector/judge/judge';
import type { Model } from '@setwell/collector/judge/model';
import { parsers } from '@setwell/collector/judge/parsers';
import { scoreModel } from '@setwell/collector/judge/score-model';
import { openLedger, sha256Hex } from '@setwell/collector/ledger/ledger';
import type { Proposal } from '@setwell/collector/ledger/shape';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import { plantFile, startMs } from '../fixtures/press-plant/works.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'throw-in-one-load-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

const rack = `
id: frame
kind: rack
title: Frame
law:
  form: equivalent-time
  referenceC: 20
  activationEnergyJPerMol: 45000
  source: invented
window: { least: 10, mostNone: cannot be over-cured, source: invented }
plannedMin: 20
part: { follows: air, initialC: 20 }
`;

const clock = new SteppedClock(startMs);

function event(name: string, load: string): JournalItem {
  const atMs = clock.nowMs();
  return {
    station: 'rack-a',
    event: name,
    earliestMs: atMs,
    latestMs: atMs,
    load,
    lot: 'K-1',
    recipe: 'frame',
    zones: null,
    opening: null,
    parts: [],
    by: null,
    act: null,
    more: {},
  };
}

function air(): JournalItem {
  const common = { deviceSeq: null, stamped: false, ahead: false };
  return { point: 'ra-1', t: clock.nowMs(), v: 21, quality: 'good', ...common };
}

/** A judge on real files, with a model that throws on one load. */
function openJudge() {
  const journalFile = join(folder, 'journal.db');
  const writer = openJournal(journalFile);
  const journal = openJournalReader(journalFile);
  const ledger = openLedger(join(folder, 'ledger.db'), 'test-works/c1/1', clock);
  const documents = new Documents(parsers);
  const model: Model = {
    ...scoreModel,
    judge: (input, readings) => {
      if (input.load === 'bad') throw new Error('a part that no solver takes');
      return scoreModel.judge(input, readings);
    },
  };
  const every = { judgeEveryMs: 60_000, forecastEveryMs: 60_000 };
  const judge = new Judge({ journal, documents, model, record: () => null, ...every });
  const plant = readFileSync(plantFile);
  const recipe = Buffer.from(rack);
  documents.add(plant);
  documents.add(recipe);
  const ref = { id: 'frame', revision: 1, sha256: sha256Hex(recipe) };
  const said: Proposal[] = [
    { kind: 'plant-revised', by: 'plant', about: {}, body: { sha256: sha256Hex(plant), bytes: 1 } },
    { kind: 'recipe-proposed', by: 'plant', about: {}, body: { recipe: ref, title: '', bytes: 1 } },
    { kind: 'recipe-approved', by: 'plant', about: {}, body: { recipe: ref, reason: 'test' } },
  ];
  for (const entry of ledger.append(said)) judge.hear(entry);
  judge.resume();
  const proposed: Proposal[] = [];
  return {
    proposed,
    ledger,
    receive(...items: JournalItem[]) {
      writer.append({ receivedMs: clock.nowMs(), items, rejects: [] });
      const { proposals } = judge.step(clock.nowMs());
      judge.numbered(ledger.append(proposals));
      proposed.push(...proposals);
    },
    close() {
      for (const file of [journal, writer, ledger]) file.close();
    },
  };
}

test('a throw in one load seals it unproven, calls somebody, and leaves the others alone', () => {
  const { proposed, ledger, receive, close } = openJudge();
  receive(air(), event('load-start', 'bad'), event('load-start', 'good'));
  for (let min = 0; min < 20; min += 1) {
    clock.advance(60_000);
    receive(air());
  }
  receive(event('load-end', 'bad'), event('load-end', 'good'));
  clock.advance(60_000);
  receive(air());

  const kindsOf = (load: string) =>
    proposed.filter(({ about }) => about.load === load).map(({ kind }) => kind);
  const sealed = (load: string) =>
    proposed.find(({ kind, about }) => kind === 'load-sealed' && about.load === load)
      ?.body as LoadSealed;
  expect(kindsOf('bad').filter((kind) => kind === 'load-faulted')).toHaveLength(1);
  expect(kindsOf('bad')).toContain('call-raised');
  expect(kindsOf('good')).not.toContain('load-faulted');
  expect(sealed('good')).toMatchObject({ verdict: 'in-window' });
  expect(sealed('bad')).toMatchObject({ verdict: 'unproven', worst: null });
  const result = ledger.blob(sealed('bad').result.sha256)?.toString('utf8');
  expect(result).toContain('a part that no solver takes');
  // Its readings are as safe as the other's.
  expect(sealed('bad').readings.count).toBe(sealed('good').readings.count);
  close();
});
