import type { FitWarning } from '../../cure/fit/fit-warning.ts';
import type { Layup } from '../../plant/recipe-schema.ts';
import type { PieceFit, PieceRun, Told } from './piece-fit.ts';

/** A standard error above this share of its constant is mostly noise. Common practice, no source. */
const NOISY_SHARE = 0.1;

/** The same of a temperature [K], and of the share of water. */
const NOISY_K = 0.5;
const NOISY_WATER = 0.15;

/** Constants that correlate more cannot be told apart. */
const CORRELATED = 0.98;

/** Residuals above this share of the rise tell more of noise than of the piece. */
const SMALL_RISE = 0.05;

/** Residuals that hang together so much come from the piece, not from its thermocouples. */
const HANGING = 0.9;

/** A piece may start so far from what the lay-up says [K]. */
const START_K = 5;

/** What is doubtful about a calibration run: where it leans on noise, and where the piece is another. */
export function pieceWarnings(fit: PieceFit, run: PieceRun, layup: Layup): FitWarning[] {
  return [...noisy(fit, run), ...differing(fit, layup)];
}

function noisy(fit: PieceFit, run: PieceRun): FitWarning[] {
  const warnings: FitWarning[] = [];
  const tell = (name: string, told: Told | null, most: number, unit: string) => {
    if (told === null || told.standardError <= most) return;
    warnings.push({
      code: 'leans-on-noise',
      text: `${name} ${short(told.value)} ± ${short(told.standardError)}${unit} (standard error): this run hardly tells it`,
    });
  };
  const { contactWPerM2K: contact, diffusivityFactor: diffusivity } = fit;
  tell('contact', contact, NOISY_SHARE * Math.abs(contact?.value ?? 0), ' W/(m²·K)');
  tell('diffusivity factor', diffusivity, NOISY_SHARE, '');
  tell('face offset', fit.faceOffsetK, NOISY_K, ' K');
  tell('plateau share', fit.plateauShare, NOISY_WATER, '');
  const { standardDeviationK, lagCorrelation } = fit.residuals;
  const riseK = riseOf(run);
  if (standardDeviationK > SMALL_RISE * riseK) {
    warnings.push({
      code: 'leans-on-noise',
      text: `residuals of ${short(standardDeviationK)} K in a rise of ${short(riseK)} K`,
    });
  }
  if (lagCorrelation > HANGING && standardDeviationK > 0.3) {
    warnings.push({
      code: 'residuals-hang-together',
      text: `residuals of ${short(standardDeviationK)} K hang together from row to row (${lagCorrelation.toFixed(2)}): the lay-up leaves something out; standard errors are widened for it`,
    });
  }
  fit.correlations.forEach((row, i) =>
    row.slice(0, i).forEach((value, j) => {
      if (Math.abs(value) < CORRELATED) return;
      warnings.push({
        code: 'not-told-apart',
        text: `${fit.constants[i]} and ${fit.constants[j]} correlate by ${value.toFixed(3)}: thermocouples at other depths, or a longer run, would tell them apart`,
      });
    }),
  );
  return warnings;
}

/** Outside what the lay-up declares, by more than twice the standard error. */
function differing(fit: PieceFit, layup: Layup): FitWarning[] {
  const { tolerance = {}, evaporation, initialC } = layup;
  const warnings: FitWarning[] = [];
  const tell = (name: string, { value, standardError }: Told, least: number, most: number) => {
    const beyond = 2 * standardError;
    if (value >= least - beyond && value <= most + beyond) return;
    warnings.push({
      code: 'piece-differs',
      text: `${name} ${short(value)} ± ${short(standardError)}, the lay-up allows ${short(least)} to ${short(most)}`,
    });
  };
  const around = (middle: number, pct = 0): [number, number] => [
    middle * (1 - pct / 100),
    middle * (1 + pct / 100),
  ];
  if (fit.contactWPerM2K !== null && layup.contactWPerM2K !== undefined) {
    const allowed = around(layup.contactWPerM2K, tolerance.contactPct);
    tell('contact', fit.contactWPerM2K, ...allowed);
  }
  tell('diffusivity factor', fit.diffusivityFactor, ...around(1, tolerance.diffusivityPct));
  const placeK = tolerance.placeK ?? 0;
  tell('face offset [K]', fit.faceOffsetK, -placeK, placeK);
  if (fit.plateauShare !== null && evaporation !== undefined) {
    tell('plateau share', fit.plateauShare, ...evaporation.share);
  }
  if (typeof initialC === 'number' && Math.abs(fit.startC.value - initialC) > START_K) {
    warnings.push({
      code: 'piece-differs',
      text: `the piece began at ${short(fit.startC.value)} °C, the lay-up says ${initialC} °C`,
    });
  }
  return warnings;
}

/** Of all thermocouples together [K]. */
export function riseOf({ thermocouples }: PieceRun): number {
  const all = thermocouples.flatMap(({ tempC }) => tempC.filter((value) => value !== null));
  let [least, most] = [Infinity, -Infinity];
  for (const value of all) {
    least = Math.min(least, value);
    most = Math.max(most, value);
  }
  return most - least;
}

function short(value: number): string {
  return String(Number(value.toPrecision(3)));
}
