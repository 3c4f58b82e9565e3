import { join } from 'node:path';
import { withExportSource } from '@setwell/collector/cli/export-source';
import { exportPeriod } from '@setwell/collector/export/period-bundle';

/** Everything of a data folder as one period, to nowhere: what the process held at most. */
const [data = ''] = process.argv.slice(2);

await withExportSource(data, join(data, 'keys'), async (source) => {
  const wanted = { fromMs: 0, toMs: Date.now(), by: 'bench', since: null };
  const pieces = await exportPeriod(source, wanted);
  if (!pieces) throw new Error(`${data}: nothing to export`);
  let bytes = 0;
  for await (const piece of pieces) bytes += piece.length;
  process.send?.({ bytes, mostKb: process.resourceUsage().maxRSS });
});
