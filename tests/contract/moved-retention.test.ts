import { afterEach, expect, test, vi } from 'vitest';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { verifyBundle } from '@setwell/collector/verify/verify-bundle';
import type {
  LoadCorrected,
  LoadSealed,
  LotFileDropped,
} from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { openWorks, plantFile, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';
import { exportedBundle } from '../fixtures/pressed-lot.ts';

// Years pass in looks of an hour, and bundles are computed again.
vi.setConfig({ testTimeout: 120_000 });

const yearMs = 365.2425 * 86_400_000;

let works: Works;
afterEach(() => works.end());

/** The wall's clock goes on; the devices say so too; the collector has its look. */
function pass(ms: number): void {
  works.clock.wallStepMs(ms);
  works.press(0.25, usualFaceC);
  works.clock.advance(3_600_000);
  works.clock.advance(60_000);
}

const hold = (kind: 'legal-hold-set' | 'legal-hold-lifted') =>
  works.collector.append([
    { kind, by: 'p-1', about: { lots: ['K-118'] }, body: { reason: 'a claim' } },
  ]);

const dropped = () =>
  works.entries('lot-file-dropped').map(({ body }) => {
    const { lot, documents } = body as LotFileDropped;
    return [lot, documents];
  });

test('documents of a load that was put into another lot stay while one of the two is held', async () => {
  works = openWorks(plantFile, {});
  await works.collector.start();
  works.event('load-start', { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' });
  works.press(2, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  works.press(3, usualFaceC);
  const [sealed] = works.entries('load-sealed') as Entry<LoadSealed>[];
  const change = { what: 'lot' as const, lot: 'K-9', parts: [] };
  const body: LoadCorrected = { load: 'P1-1', reason: 'the wrong card', change };
  works.collector.append([{ kind: 'load-corrected', by: 'p-1', about: sealed!.about, body }]);
  works.collector.step();
  hold('legal-hold-set');
  pass(10.1 * yearMs);
  expect(dropped()).toEqual([['K-9', 0]]);
  const isHere = () => works.collector.ledger.blob(sealed!.body.result.sha256) !== null;
  expect(isHere()).toBe(true);
  hold('legal-hold-lifted');
  pass(0);
  expect(dropped()).toEqual([
    ['K-9', 0],
    ['K-118', 3],
  ]);
  expect(isHere()).toBe(false);
  await works.collector.stop();
  const codesOf = async (lot: string) => {
    const zip = await exportedBundle(works, lot);
    const brought = { key: null, since: null, nowMs: works.clock.nowMs() };
    const { findings } = await verifyBundle(zip, brought, releasedModels());
    return findings.map(({ code }) => code);
  };
  // The account of before the correction, and the one that answers it.
  expect(await codesOf('K-9')).toEqual(['documents-gone', 'documents-gone']);
  expect(await codesOf('K-118')).toEqual([]);
});
