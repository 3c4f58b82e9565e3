import { StationCycles } from '@setwell/shared-models/condition/station-cycles';
import { median, type BenchRow } from './bench-row.ts';
import { processorSince } from './processor-time.ts';
import { yearOfRows, yearReport } from './year-of-cycles.ts';

const rounds = 5;

/** A year of cycles read back, and everything a plant's points tell of their cycles as they speak. */
export function conditionBench(): BenchRow[] {
  return [yearSummarised(), liveDetection()];
}

const summaryAllowedS = 1;

function yearSummarised(): BenchRow {
  const rows = yearOfRows();
  const runs = Array.from({ length: rounds }, () => {
    const before = process.cpuUsage();
    yearReport(rows);
    return processorSince(before);
  });
  const value = median(runs);
  return {
    name: 'a year of cycles of 20 zones summarised',
    ...{
      baseline: 'limit, a second',
      aim: 1,
      ratio: summaryAllowedS / value,
      value,
      unit: 's',
      runs,
    },
  };
}

const stations = 50;
const facesEach = 10;
const seconds = 300;
/** Of one core: a twentieth of each second. */
const shareAllowed = 0.05;

function liveDetection(): BenchRow {
  const watched = Array.from({ length: stations }, (_, station) => {
    const faces = Array.from({ length: facesEach }, (_, i) => ({
      point: `p-${station}-${i}`,
      depthMm: 3,
    }));
    const finder = { edges: [], faces, hotC: 100 };
    return new StationCycles({ station: `s-${station}`, finder, readyC: 128, outputs: [] });
  });
  let clockS = 0;
  const runs = Array.from({ length: rounds }, () => {
    const before = process.cpuUsage();
    for (let s = 0; s < seconds; s += 1) {
      clockS += 1;
      // A charge each ten minutes: levels, dips and ways back are all in it.
      const dipK = 13 * Math.exp(-(clockS % 600) / 100);
      watched.forEach((cycles, station) => {
        for (let i = 0; i < facesEach; i += 1) {
          const c = 138 - dipK + 0.1 * Math.sin(i + 7.1 * clockS);
          cycles.take(`p-${station}-${i}`, clockS * 1000, Math.round(10 * c) / 10);
        }
      });
    }
    return processorSince(before) / seconds;
  });
  const value = median(runs);
  return {
    name: 'live detection, 500 points at 1 Hz',
    baseline: 'limit, a twentieth of one core',
    ...{ aim: 1, ratio: shareAllowed / value, value, unit: 'cores', runs },
  };
}
