/** One coefficient, sign or step of the score, made wrong. */
export interface Wrong {
  /** Below shared-models. */
  file: string;
  /** As it stands, once in the file. */
  right: string;
  wrong: string;
}

/** Every one of these must be noticed by some check: else the checks have a hole. */
export const wrongs: Wrong[] = [
  { file: 'units/temperature.ts', right: '8.314462618', wrong: '8.617' },
  { file: 'units/temperature.ts', right: '-273.15', wrong: '-273' },
  {
    file: 'cure/equivalent-time.ts',
    right: 'fromK, toK) * durationS) / 60',
    wrong: 'fromK, toK) * durationS) / 61',
  },
  {
    file: 'cure/equivalent-time.ts',
    right: 'const middleK = 0.5 * (fromK + toK)',
    wrong: 'const middleK = fromK + 0.4 * (toK - fromK) + 0.1',
  },
  { file: 'score/doubts.ts', right: '2 / Math.sqrt(3)', wrong: '1 / Math.sqrt(3)' },
  {
    file: 'score/doubts.ts',
    right: 'moved.shiftK += direction * by',
    wrong: 'moved.shiftK -= direction * by',
  },
  {
    file: 'score/doubts.ts',
    right: '0.5 * (wet.leastShare + wet.mostShare)',
    wrong: '0 * (wet.leastShare + wet.mostShare)',
  },
  {
    file: 'score/weigh.ts',
    right: 'squares += value * value',
    wrong: 'squares += value * value * value',
  },
  {
    file: 'score/weigh.ts',
    right: 'return Math.sqrt(squares)',
    wrong: 'return 2 * Math.sqrt(squares)',
  },
  {
    file: 'score/envelope.ts',
    right: '2 * resolutionK + 3 * noiseK',
    wrong: '2 * resolutionK + 1 * noiseK',
  },
  {
    file: 'score/envelope.ts',
    right: 'heatingKPerS: station.maxHeatingKPerMin / 60',
    wrong: 'heatingKPerS: station.maxHeatingKPerMin / 600',
  },
  {
    file: 'score/envelope.ts',
    right: 'coolingKPerS: station.maxCoolingKPerMin / 60',
    wrong: 'coolingKPerS: station.maxCoolingKPerMin / 600',
  },
  {
    file: 'score/envelope.ts',
    right: 'mostC: Math.min(plausible.maxC, station.supplyMaxC)',
    wrong: 'mostC: plausible.maxC',
  },
  {
    file: 'score/point-history.ts',
    right: 'shownC + correctionK(',
    wrong: 'shownC - correctionK(',
  },
  {
    file: 'score/marks.ts',
    right: 'fromMs: timeOf(pressureOn, -direction)',
    wrong: 'fromMs: timeOf(contact ?? pressureOn, -direction)',
  },
  {
    file: 'score/marks.ts',
    right: 'timeOf(releaseStart, direction)',
    wrong: 'timeOf(releaseStart, -direction)',
  },
  { file: 'score/marks.ts', right: '0.5 * (earliestMs + latestMs)', wrong: 'earliestMs' },
  { file: 'score/window.ts', right: 'if (high < least)', wrong: 'if (low < least)' },
  {
    file: 'score/window.ts',
    right: 'if (low >= least && (most === null || high <= most))',
    wrong: 'if (high >= least && (most === null || low <= most))',
  },
  {
    file: 'score/window.ts',
    right: 'if (most !== null && low > most)',
    wrong: 'if (most !== null && low > 2 * most)',
  },
  { file: 'score/repress.ts', right: 'high <= noReturn', wrong: 'low <= noReturn' },
  {
    file: 'score/laws.ts',
    right: 'Math.max(spec.floorC ?? -Infinity, leastC)',
    wrong: 'Math.max(spec.floorC ?? -Infinity, leastC) + 20',
  },
  {
    file: 'score/requirements/signals.ts',
    right: 'N_PER_MM2_PER_BAR = 0.1;',
    wrong: 'N_PER_MM2_PER_BAR = 0.0981;',
  },
  {
    file: 'score/requirements/check.ts',
    right: 'lowest.high < least',
    wrong: 'lowest.low < least',
  },
  {
    file: 'score/requirements/check.ts',
    right: 'greatest.low > most',
    wrong: 'greatest.high > most',
  },
  {
    file: 'score/requirements/evidence.ts',
    right: 'low: value - doubt, high: value + doubt',
    wrong: 'low: value, high: value',
  },
  {
    file: 'score/requirements/precure.ts',
    right: 'known.high = Math.max(known.high, own.high * perLawUnit)',
    wrong: 'known.high = own.low * perLawUnit',
  },
  { file: 'heat/evaporation.ts', right: 'BOILING_C = 99.974', wrong: 'BOILING_C = 139' },
  {
    file: 'heat/evaporation.ts',
    right: 'LATENT_J_PER_KG = 2.2565e6',
    wrong: 'LATENT_J_PER_KG = 2.2565e5',
  },
  {
    file: 'heat/conduction.ts',
    right: 'inner[middle] * lower',
    wrong: 'inner[middle] * lowerC',
  },
  {
    file: 'heat/conduction.ts',
    right: 'SECOND_STAGE = (1 - GAMMA) / GAMMA',
    wrong: 'SECOND_STAGE = 1 - GAMMA',
  },
  { file: 'heat/conduction.ts', right: 'HELD_WPerM2K = 1e9', wrong: 'HELD_WPerM2K = 1e9 * 0' },
];
