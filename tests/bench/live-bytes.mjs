import { appendFileSync, readFileSync } from 'node:fs';
import { getHeapCodeStatistics, setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { isMainThread } from 'node:worker_threads';

/**
 * Loaded into each thread of the shipped program (`NODE_OPTIONS=--import`): about once a minute what it holds
 * after a full collection, as a line of `LIVE_BYTES_FILE`. Without one, a heap that fills to its ceiling
 * looks like a leak. A minute less some: what is kept is written every twenty seconds, and would be met at
 * the same moment each time.
 */
const everyMs = 53_000;

setFlagsFromString('--expose-gc');
const collect = /** @type {() => void} */ (runInNewContext('gc'));
const program = process.argv[1]?.includes('dashboard') === true ? 'dashboard' : 'collector';
const name = isMainThread ? program : 'judge';
const file = process.env['LIVE_BYTES_FILE'] ?? '';

setInterval(() => {
  collect();
  const { heapUsed, external } = process.memoryUsage();
  // The engine compiles more and more of what is called often, for hours: that is no data of ours.
  const { code_and_metadata_size: code, bytecode_and_metadata_size: bytecode } =
    getHeapCodeStatistics();
  const status = readFileSync('/proc/self/status', 'utf8');
  const residentKb = Number(/VmRSS:\s+(\d+)/.exec(status)?.[1]);
  const live = heapUsed + external - code - bytecode;
  const held = { atMs: Date.now(), name, live, resident: residentKb * 1024 };
  appendFileSync(file, `${JSON.stringify(held)}\n`);
}, everyMs).unref();
