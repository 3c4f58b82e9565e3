import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { startDashboard } from '@setwell/dashboard/server/server';
import { plantFile, type Works } from '../fixtures/press-plant/works.ts';

/** A collector and its pages on a clock that stands still. */
export interface StandingPlant {
  collector: Collector;
  url: string;
  /** Where the pages keep what is theirs. */
  folder: string;
  close(): Promise<void>;
}

/** Opens what works have recorded, once their own collector has stopped. */
export async function standingPlant(
  { dataDir, clock }: Works,
  webFolder: string,
  ownPlantFile = plantFile,
): Promise<StandingPlant> {
  const folder = mkdtempSync(join(tmpdir(), 'setwell-standing-'));
  const collector = createCollector({
    ...{ plantFile: ownPlantFile, dataDir, clock, keyDir: join(dataDir, 'keys'), version: 'test' },
    clockSetting: { originMs: clock.nowMs(), wallOriginMs: 0, rate: 0 },
    judge: 'inline',
    serve: {},
  });
  const { url: collectorUrl, tokenFile } = await collector.start();
  const dashboard = await startDashboard({
    collectorUrl: collectorUrl!,
    token: readFileSync(tokenFile!, 'utf8').trim(),
    ...{ port: 0, dataFolder: folder, webFolder, version: 'test', log: () => {} },
  });
  return {
    collector,
    url: `http://127.0.0.1:${String(dashboard.port)}`,
    folder,
    async close() {
      await dashboard.stop();
      await collector.stop();
      rmSync(folder, { recursive: true });
    },
  };
}
