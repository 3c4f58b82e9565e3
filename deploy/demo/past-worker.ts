import { parentPort, workerData } from 'node:worker_threads';
import { pastReadings } from './past-readings.ts';

/** Makes up the six weeks beside the collector that takes them in. */
for (const day of pastReadings(workerData as number)) parentPort?.postMessage(day);
