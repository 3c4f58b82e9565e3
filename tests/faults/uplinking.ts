import { join } from 'node:path';
import { openJournalReader } from '@setwell/collector/journal/journal';
import { Metrics } from '@setwell/collector/metrics';
import { SystemClock } from '@setwell/collector/system-clock';
import { startUplink } from '@setwell/collector/uplink/uplink';
import { wallClock } from '@setwell/shared-models/api/clock';
import { uplinkedPlant } from '../fixtures/uplinked.ts';

/** An uplink as a process of its own, to be killed: `uplinking.ts FOLDER URL`. */
const [folder = '', url = ''] = process.argv.slice(2);

startUplink({
  collected: {
    plant: uplinkedPlant({ url, version: 1, database: 'plant' }),
    journal: openJournalReader(join(folder, 'journal.db')),
    metrics: new Metrics(),
  },
  plantFile: join(folder, 'plant.yaml'),
  dataDir: folder,
  clock: new SystemClock(wallClock),
  clockSetting: wallClock,
  random: Math.random,
});
process.stdout.write(`${process.pid} started\n`);
