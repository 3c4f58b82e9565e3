import { conversionForms, fitConversion } from '@setwell/shared-models/cure/fit/conversion';
import type { ConversionFit, ConversionForm } from '@setwell/shared-models/cure/fit/conversion';
import { curveForms, fitCurve } from '@setwell/shared-models/cure/fit/curve';
import type { CurveForm } from '@setwell/shared-models/cure/fit/curve';
import type { FitWarning } from '@setwell/shared-models/cure/fit/fit-warning';
import { isoconversionalEnergies } from '@setwell/shared-models/cure/fit/isoconversional';
import type { IsoconversionalRow } from '@setwell/shared-models/cure/fit/isoconversional';
import { fitPeaks } from '@setwell/shared-models/cure/fit/peaks';
import type { PeaksRefusal } from '@setwell/shared-models/cure/fit/peaks';
import { fitSchedule } from '@setwell/shared-models/cure/fit/schedule';
import type { ScheduleFit, ScheduleRefusal } from '@setwell/shared-models/cure/fit/schedule';
import { nearestName } from '@setwell/shared-models/plant/nearest-name';
import { ABSOLUTE_ZERO_C } from '@setwell/shared-models/units/temperature';
import type { Command } from 'commander';
import { readNumberTable } from '../number-table.ts';
import type { NumberTable } from '../number-table.ts';
import { CommandProblem } from '../problem.ts';
import { answered } from './answer.ts';
import type { Answer } from './answer.ts';
import { readConversionRuns } from './conversion-runs.ts';
import { registerFitPiece } from './fit-piece.ts';
import { numberOption } from './number-option.ts';

/** Where cure temperatures lie [°C]; numbers above that fit as °F are refused as °F. */
const usualC = [-30, 260] as const;

/** Conversions at which the energy is told. */
const isoconversionalAlphas = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];

/** A least-squares step costs all points; more is a file for thinning out first. */
const mostPoints = 50_000;

const inCelsius = ['--in-celsius', 'the temperatures are °C, high as they look'] as const;

export function registerFit(program: Command): void {
  const fit = program
    .command('fit')
    .description('find a law’s constants in data, with their standard errors, or say why not');
  fit
    .command('schedule')
    .description('activation energy from rows that cure equally well')
    .argument('<file>', 'CSV temp_c,minutes')
    .option(
      '--reference <C>',
      'reference temperature [°C]; else the rows’ harmonic mean in kelvin',
      numberOption('--reference', 'a number in °C', { above: ABSOLUTE_ZERO_C }),
    )
    .option(
      '--printed-to <min>',
      'what the minutes are rounded to; else their last decimal',
      numberOption('--printed-to', 'a number of minutes', { above: 0 }),
    )
    .option(...inCelsius)
    .action(answered(answerSchedule));
  fit
    .command('peaks')
    .description('activation energy and pre-exponential factor from peaks of scans')
    .argument('<file>', 'CSV rate_k_per_min,peak_c')
    .option(...inCelsius)
    .action(answered(answerPeaks));
  fit
    .command('conversion')
    .description('a kinetic law from conversion curves')
    .argument('<file>', 'CSV run,time_s,temp_c,alpha')
    .requiredOption('--form <form>', `one of ${conversionForms.join(', ')}`)
    .option('--isoconversional', 'add the activation energy at each conversion, by two methods')
    .option(...inCelsius)
    .action(answered(answerConversion));
  fit
    .command('curve')
    .description('a plain curve through points')
    .argument('<file>', 'CSV x,y')
    .requiredOption('--form <form>', `one of ${Object.keys(curveForms).join(', ')}`)
    .requiredOption('--start <a,b,…>', 'starting values, one a parameter')
    .action(answered(answerCurve));
  registerFitPiece(fit);
}

function answerSchedule(
  file: string,
  options: { reference?: number; printedTo?: number; inCelsius?: boolean },
): Answer {
  const table = readNumberTable(file, {
    what: 'a schedule, temp_c,minutes',
    columns: [
      { name: 'temp_c', least: ABSOLUTE_ZERO_C, ...usual(options) },
      { name: 'minutes', above: 0 },
    ],
  });
  refuseTooMany(table);
  const minutes = table.full('minutes');
  const rows = table.full('temp_c').map((tempC, i) => ({ tempC, minutes: minutes[i] ?? 0 }));
  const answer = fitSchedule(rows, {
    referenceC: options.reference,
    printedToMin: options.printedTo,
  });
  if (!answer.ok) throw scheduleProblem(answer.refusal, table, rows);
  return { document: answer.fit, text: scheduleText(answer.fit) };
}

function scheduleProblem(
  refusal: ScheduleRefusal,
  { file, lines }: NumberTable,
  rows: { tempC: number; minutes: number }[],
): CommandProblem {
  const said = (row: number) =>
    `${rows[row]?.tempC} °C for ${rows[row]?.minutes} min (line ${lines[row]})`;
  const { code } = refusal;
  switch (refusal.code) {
    case 'one-temperature':
      return new CommandProblem({
        code,
        file,
        field: 'temp_c',
        found: `one temperature, ${rows[0]?.tempC} °C`,
        expected: 'rows at two temperatures or more',
      });
    case 'contradictory-rows': {
      const [hotter, colder] = refusal.rows;
      return new CommandProblem({
        code,
        file,
        line: lines[hotter] ?? null,
        field: 'minutes',
        found: `${said(hotter)}, hotter and longer than ${said(colder)}`,
        expected: 'a hotter row that takes no longer',
      });
    }
    case 'rate-does-not-rise':
      return new CommandProblem({
        code,
        file,
        field: 'minutes',
        found: `an activation energy of ${refusal.activationEnergyJPerMol.toFixed(0)} J/mol`,
        expected: 'minutes that fall as the temperature rises',
      });
  }
}

function scheduleText(fit: ScheduleFit): string {
  const { referenceC, minutesAtReference, minutesStandardError, allowedByRounding } = fit;
  return [
    `activation energy ${energyText(fit.activationEnergyJPerMol, fit.standardError)}`,
    `${minutesAtReference.toFixed(3)} min at ${referenceC.toFixed(2)} °C${
      minutesStandardError === null ? '' : `, standard error ${minutesStandardError.toFixed(3)} min`
    }`,
    ...(allowedByRounding === null
      ? []
      : [
          `printed minutes allow ${kilojoules(allowedByRounding.low)} to ${kilojoules(allowedByRounding.high)} kJ/mol`,
        ]),
    ...warningLines(fit.warnings),
  ].join('\n');
}

function answerPeaks(file: string, options: { inCelsius?: boolean }): Answer {
  const table = readNumberTable(file, {
    what: 'peaks, rate_k_per_min,peak_c',
    columns: [
      { name: 'rate_k_per_min', above: 0 },
      { name: 'peak_c', least: ABSOLUTE_ZERO_C, ...usual(options) },
    ],
  });
  refuseTooMany(table);
  const peaks = table.full('peak_c');
  const answer = fitPeaks(
    table.full('rate_k_per_min').map((rateKPerMin, i) => ({ rateKPerMin, peakC: peaks[i] ?? 0 })),
  );
  if (!answer.ok) throw peaksProblem(answer.refusal, file);
  const { fit } = answer;
  const text = [
    `activation energy ${energyText(fit.activationEnergyJPerMol, fit.standardError)}`,
    `pre-exponential factor ${fit.preExponentialPerS.toExponential(4)} 1/s`,
    ...warningLines(fit.warnings),
  ].join('\n');
  return { document: fit, text };
}

function peaksProblem(refusal: PeaksRefusal, file: string): CommandProblem {
  const { code } = refusal;
  const found =
    refusal.code === 'one-rate'
      ? 'the same peak in every row'
      : `an activation energy of ${refusal.activationEnergyJPerMol.toFixed(0)} J/mol`;
  return new CommandProblem({
    code,
    file,
    field: 'peak_c',
    found,
    expected: 'peaks that rise with the heating rate',
  });
}

function answerConversion(
  file: string,
  options: { form: string; isoconversional?: boolean; inCelsius?: boolean },
): Answer {
  const form = oneOf(options.form, conversionForms);
  const runs = readConversionRuns(file, usual(options).usualC, mostPoints);
  const fit = fitConversion(runs, form);
  const energies =
    options.isoconversional === true ? isoconversionalEnergies(runs, isoconversionalAlphas) : null;
  const law = fit.converged ? fit.law : null;
  return {
    document: { ...fit, law, ...(energies === null ? {} : { isoconversional: energies }) },
    text: [conversionText(form, fit), ...(energies === null ? [] : energyLines(energies))].join(
      '\n',
    ),
    exit: fit.converged ? 0 : 1,
  };
}

function conversionText(form: ConversionForm, fit: ConversionFit): string {
  if (!fit.converged) {
    return [`not converged: ${becauseText[fit.because]}`, ...warningLines(fit.warnings)].join('\n');
  }
  const { law, fitted, residualStandardDeviation } = fit;
  const errors = fitted.covariance?.map((row, i) => Math.sqrt(row[i] ?? NaN));
  return [
    `${form}, k at ${fitted.centreC.toFixed(2)} °C`,
    ...fitted.names.map((name, i) => {
      const error = errors?.[i];
      const value = `${name} ${(fitted.values[i] ?? NaN).toPrecision(7)}`;
      return error === undefined ? value : `${value}, standard error ${error.toPrecision(3)}`;
    }),
    ...(residualStandardDeviation === null
      ? []
      : [`residuals ${residualStandardDeviation.toPrecision(3)} in degree of cure`]),
    `law: ${JSON.stringify(law)}`,
    ...warningLines(fit.warnings),
  ].join('\n');
}

function energyLines(rows: readonly IsoconversionalRow[]): string[] {
  const said = (energy: IsoconversionalRow['integral']) =>
    energy === null
      ? 'not known'
      : energyText(energy.activationEnergyJPerMol, energy.standardError);
  return rows.map(
    ({ alpha, differential, integral }) =>
      `at ${alpha}: from rates ${said(differential)}; from times ${said(integral)}`,
  );
}

function answerCurve(file: string, options: { form: string; start: string }): Answer {
  const form = oneOf(options.form, Object.keys(curveForms) as CurveForm[]);
  const { formula, parameterCounts } = curveForms[form];
  const start = options.start.split(',').map((part) => (part.trim() === '' ? NaN : Number(part)));
  if (!start.every(Number.isFinite) || !parameterCounts.includes(start.length)) {
    throw new CommandProblem({
      code: 'wrong-start',
      field: '--start',
      found: JSON.stringify(options.start.slice(0, 80)),
      expected: `${parameterCounts.join(' or ')} numbers with commas between, for ${formula}`,
    });
  }
  const table = readNumberTable(file, {
    what: 'points, x,y',
    columns: [form === 'power' ? { name: 'x', above: 0 } : { name: 'x' }, { name: 'y' }],
  });
  refuseTooMany(table);
  const x = table.full('x');
  if (x.length < start.length) {
    throw new CommandProblem({
      code: 'too-few-rows',
      file,
      found: `${x.length} rows`,
      expected: `at least ${start.length}, one a parameter`,
    });
  }
  const fit = fitCurve(form, x, table.full('y'), start);
  const { converged, residualSumOfSquares } = fit;
  const sum = Number.isFinite(residualSumOfSquares) ? residualSumOfSquares : null;
  if (!converged) {
    return {
      document: {
        parameters: null,
        standardErrors: null,
        residualSumOfSquares: sum,
        converged,
        because: fit.because,
      },
      text: `not converged: ${becauseText[fit.because]}`,
      exit: 1,
    };
  }
  const { parameters, standardErrors, covariance } = fit;
  return {
    document: { parameters, standardErrors, residualSumOfSquares: sum, converged, covariance },
    text: [
      formula,
      ...parameters.map((value, i) => {
        const error = standardErrors?.[i];
        return `b${i + 1} ${value.toPrecision(11)}${error === undefined ? '' : `, standard error ${error.toPrecision(8)}`}`;
      }),
      `residual sum of squares ${residualSumOfSquares.toPrecision(11)}`,
    ].join('\n'),
  };
}

const becauseText = {
  'bad-start': 'the starting values give no numbers; try others',
  'too-many-steps': 'the fit did not settle; try other starting values',
  'not-determined': 'the points do not tell the parameters apart; more points, or another form',
  'one-temperature': 'all rows have one temperature: an activation energy needs two or more',
};

function usual({ inCelsius }: { inCelsius?: boolean }): { usualC?: readonly [number, number] } {
  return inCelsius === true ? {} : { usualC };
}

function oneOf<Name extends string>(written: string, names: readonly Name[]): Name {
  const name = names.find((each) => each === written);
  if (name !== undefined) return name;
  const nearest = nearestName(written, names);
  throw new CommandProblem({
    code: 'unknown-form',
    field: '--form',
    found: JSON.stringify(written.slice(0, 60)),
    expected: `${nearest === null ? '' : `${nearest}; `}one of ${names.join(', ')}`,
  });
}

function refuseTooMany({ file, lines }: NumberTable): void {
  if (lines.length <= mostPoints) return;
  throw new CommandProblem({
    code: 'too-many-rows',
    file,
    found: `${lines.length} rows`,
    expected: `at most ${mostPoints}`,
  });
}

function energyText(joules: number, standardError: number | null): string {
  const value = `${kilojoules(joules)} kJ/mol`;
  return standardError === null
    ? value
    : `${value}, standard error ${kilojoules(standardError)} kJ/mol`;
}

function kilojoules(joules: number): string {
  return (joules / 1000).toFixed(3);
}

function warningLines(warnings: readonly FitWarning[]): string[] {
  return warnings.map(({ text }) => `note: ${text}`);
}
