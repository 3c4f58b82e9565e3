import { corrected } from '@setwell/shared-models/metrology/calibration';
import { FaultWatch } from '@setwell/shared-models/metrology/fault/fault-watch';
import type { WatchedPoint } from '@setwell/shared-models/metrology/fault/rule';
import { indicated, type TemperatureSignal } from '@setwell/shared-models/metrology/signal';
import { terminalMillivolt } from '@setwell/shared-models/metrology/thermocouple';
import type { Calibration } from '@setwell/shared-models/plant/plant-schema';
import { median, type BenchRow } from './bench-row.ts';
import { processorSince } from './processor-time.ts';

const rounds = 5;
const signals = 500_000;
const wantedPerS = 2_000_000;

const certificate: Calibration = {
  certificate: 'C-1',
  date: '2026-01-12',
  due: '2027-01-12',
  k: 2,
  points: [0, 40, 80, 120, 160, 200].map((atC) => ({ atC, correctionK: 0.1, expandedK: 0.3 })),
};

/** From raw signal to corrected temperature, and all fault rules over a plant of 5,000 points. */
export function sensorsBench(): BenchRow[] {
  const resistance = Array.from({ length: 1000 }, (_, i) => 100 + 0.07 * i);
  const millivolts = Array.from(
    { length: 1000 },
    (_, i) => terminalMillivolt('K', 20 + 0.17 * i, 25) ?? 0,
  );
  return [
    perSecond('Pt100 ohms to corrected temperature', resistance, {
      ...{ signal: 'ohm', type: 'Pt100', leadOhm: 0.2 },
    }),
    perSecond('type K millivolts, cold junction, to corrected temperature', millivolts, {
      ...{ signal: 'millivolt', type: 'K', terminalsC: 25 },
    }),
    faultRules(),
  ];
}

function perSecond(name: string, raw: readonly number[], from: TemperatureSignal): BenchRow {
  const runs = Array.from({ length: rounds }, () => {
    const before = process.cpuUsage();
    let sumC = 0;
    for (let i = 0; i < signals; i += 1) {
      const shown = indicated(raw[i % raw.length] ?? 0, from);
      if (shown.kind === 'no-temperature') continue;
      const answer = corrected(shown, certificate);
      if (answer.kind === 'corrected') sumC += answer.correctedC;
    }
    if (!Number.isFinite(sumC)) throw new RangeError('no temperatures');
    return signals / processorSince(before);
  });
  const value = median(runs);
  const aim = { baseline: `limit, ${wantedPerS} a second`, aim: 1 };
  return { name, ...aim, ratio: value / wantedPerS, value, unit: '1/s', runs };
}

const points = 5000;
const seconds = 120;
/** Of one core: a tenth of each second. */
const shareAllowed = 0.1;

function faultRules(): BenchRow {
  const watched = Array.from({ length: points }, (_, i): WatchedPoint => ({
    ...{ id: `p-${i}`, station: `s-${Math.floor(i / 10)}`, signal: 'celsius', role: 'watch' },
    ...{ everyMs: 1000, onChange: false, resolutionK: 0.1 },
    plausible: { minC: 0, maxC: 220, maxRateKPerMin: 120 },
  }));
  const watch = new FaultWatch(watched);
  let clockS = 0;
  const runs = Array.from({ length: rounds }, () => {
    const before = process.cpuUsage();
    for (let s = 0; s < seconds; s += 1) {
      clockS += 1;
      const tMs = clockS * 1000;
      for (let i = 0; i < points; i += 1) {
        const c = Math.round(10 * (138 + 0.3 * Math.sin(i + 7.1 * clockS))) / 10;
        const reading = { tMs, receivedMs: tMs + 100, raw: c, shownC: c, conflict: false };
        watch.take(`p-${i}`, reading);
      }
      if (clockS % 10 === 0) watch.look(tMs);
    }
    return processorSince(before) / seconds;
  });
  const value = median(runs);
  return {
    name: 'all fault rules, 5,000 points at 1 Hz',
    baseline: 'limit, a tenth of one core',
    ratio: shareAllowed / value,
    aim: 1,
    value,
    unit: 'cores',
    runs,
  };
}
