import {
  celsiusOfOhm,
  ohmOfCelsius,
  resistanceRangeC,
} from '@setwell/shared-models/metrology/resistance';
import type { ResistanceType } from '@setwell/shared-models/metrology/resistance';
import {
  hotJunctionC,
  millivoltOfCelsius,
  terminalMillivolt,
  thermocoupleRange,
  thermocoupleTypes,
} from '@setwell/shared-models/metrology/thermocouple';
import type { ThermocoupleType } from '@setwell/shared-models/metrology/thermocouple';
import {
  elementTypeNamed,
  elementTypes,
  standardNamed,
  toleranceK,
  toleranceOf,
  tolerancesOf,
} from '@setwell/shared-models/metrology/tolerance';
import type { ElementType, Tolerance } from '@setwell/shared-models/metrology/tolerance';
import { nearestName } from '@setwell/shared-models/plant/nearest-name';
import type { Command } from 'commander';
import { CommandProblem } from '../problem.ts';
import { answered } from './answer.ts';
import type { Answer } from './answer.ts';
import { numberOption } from './number-option.ts';

interface SensorOptions {
  type: string;
  celsius?: number;
  millivolt?: number;
  ohm?: number;
  coldJunction?: number;
  leadOhm?: number;
  standard?: string;
  class?: string;
}

export function registerSensor(program: Command): void {
  program
    .command('sensor')
    .description('turn millivolts or ohms into a temperature and back, with the class tolerance')
    .requiredOption('--type <type>', `kind of sensor: ${elementTypes.join(', ')}`)
    .option('--celsius <x>', 'a temperature [°C]', numberOption('--celsius', 'a number in °C'))
    .option('--millivolt <x>', 'a voltage [mV]', numberOption('--millivolt', 'a number in mV'))
    .option('--ohm <x>', 'a resistance [Ω]', numberOption('--ohm', 'a number in Ω'))
    .option(
      '--cold-junction <C>',
      'temperature of the terminals [°C], 0 unless given',
      numberOption('--cold-junction', 'a number in °C'),
    )
    .option(
      '--lead-ohm <x>',
      'what the wires add [Ω]: two wires both together, three their difference, four nothing',
      numberOption('--lead-ohm', 'a number in Ω', { least: -1000, most: 1000 }),
    )
    .option('--standard <name>', 'IEC60751, IEC60584 or E230; else the one that has the class')
    .option('--class <name>', 'AA, A, B, C; 1, 2; standard, special')
    .action(answered(answerSensor));
}

function answerSensor(options: SensorOptions): Answer {
  const type = elementTypeOf(options.type);
  const tolerance = toleranceOfOptions(type, options);
  const thermocouple = thermocoupleTypes.find((each) => each === type);
  const { celsius, signal } =
    thermocouple === undefined
      ? resistanceReading(type as ResistanceType, options)
      : thermocoupleReading(thermocouple, options);
  const halfWidthK = tolerance === null ? null : toleranceK(tolerance, celsius);
  return {
    document: { celsius, ...signal, toleranceK: halfWidthK },
    text: textOf(type, celsius, signal, options, tolerance, halfWidthK),
  };
}

function elementTypeOf(written: string): ElementType {
  const type = elementTypeNamed(written);
  if (type !== null) return type;
  // One letter is as near to each of the four as to any.
  const nearest = written.length > 2 ? nearestName(written, elementTypes) : null;
  throw new CommandProblem({
    code: 'unknown-type',
    field: '--type',
    found: JSON.stringify(written.slice(0, 60)),
    expected: `${nearest === null ? '' : `${nearest}; `}one of ${elementTypes.join(', ')}`,
  });
}

function toleranceOfOptions(type: ElementType, options: SensorOptions): Tolerance | null {
  const { standard: standardWritten, class: className } = options;
  const known = tolerancesOf(type)
    .map((each) => `${each.class} (${each.standard})`)
    .join(', ');
  const standard = standardWritten === undefined ? null : standardNamed(standardWritten);
  if (standardWritten !== undefined && standard === null) {
    throw new CommandProblem({
      code: 'unknown-standard',
      field: '--standard',
      found: JSON.stringify(standardWritten.slice(0, 60)),
      expected: `IEC60751, IEC60584 or E230; for ${type} the classes ${known}`,
    });
  }
  if (className === undefined) {
    if (standard === null) return null;
    throw new CommandProblem({
      code: 'missing-class',
      field: '--class',
      found: `--standard ${standardWritten} and no class`,
      expected: `a class too: ${known}`,
    });
  }
  const tolerance = toleranceOf(type, className, standard);
  if (tolerance !== null) return tolerance;
  throw new CommandProblem({
    code: 'unknown-class',
    field: '--class',
    found: `${JSON.stringify(className.slice(0, 60))}${standard === null ? '' : ` by ${standard}`}`,
    expected: `a class of ${type}: ${known}`,
  });
}

/** Which one of the options was given; the others must not be. */
function theOnlyOne<Name extends 'celsius' | 'millivolt' | 'ohm'>(
  type: ElementType,
  options: SensorOptions,
  names: readonly Name[],
): { name: Name; value: number } {
  const given = (['celsius', 'millivolt', 'ohm'] as const).filter(
    (name) => options[name] !== undefined,
  );
  const name = names.find((each) => each === given[0]);
  const value = name === undefined ? undefined : options[name];
  if (given.length === 1 && name !== undefined && value !== undefined) return { name, value };
  throw new CommandProblem({
    code: given.length > 1 ? 'too-many-values' : given.length === 1 ? 'other-signal' : 'no-value',
    field: given.length === 0 ? null : given.map((each) => `--${each}`).join(' '),
    found: given.length === 0 ? 'no value' : `--${given.join(' and --')}`,
    expected: `for ${type} one of ${names.map((each) => `--${each}`).join(', ')}`,
  });
}

function refuseOption(type: ElementType, flag: string, value: number | undefined, of: string) {
  if (value === undefined) return;
  throw new CommandProblem({
    code: 'other-signal',
    field: flag,
    found: `${flag} ${value}`,
    expected: `no such option for ${type}: it belongs to ${of}`,
  });
}

interface Reading {
  celsius: number;
  signal: { millivolt: number } | { ohm: number };
}

function thermocoupleReading(type: ThermocoupleType, options: SensorOptions): Reading {
  refuseOption(type, '--lead-ohm', options.leadOhm, 'resistance thermometers');
  const { name, value } = theOnlyOne(type, options, ['celsius', 'millivolt'] as const);
  const terminalsC = options.coldJunction ?? 0;
  const terminalsMv = millivoltOfCelsius(type, terminalsC);
  const { fromC, toC, fromMv, toMv } = thermocoupleRange(type);
  const curve = `the reference function of type ${type} from ${fromC} to ${toC} °C`;
  if (terminalsMv === null) {
    throw outside('--cold-junction', `${terminalsC} °C`, `a temperature inside ${curve}`);
  }
  if (name === 'celsius') {
    const millivolt = terminalMillivolt(type, value, terminalsC);
    if (millivolt === null) {
      throw outside('--celsius', `${value} °C`, `a temperature inside ${curve}`);
    }
    return { celsius: value, signal: { millivolt } };
  }
  const celsius = hotJunctionC(type, value, terminalsC);
  if (celsius === null) {
    const ends = [fromMv, toMv].map((mv) => (mv - terminalsMv).toFixed(3)).join(' to ');
    const at = `type ${type} with terminals at ${terminalsC} °C`;
    throw outside(
      '--millivolt',
      `${value} mV`,
      `${ends} mV for ${at}; an open wire or another type is outside`,
    );
  }
  return { celsius, signal: { millivolt: value } };
}

function resistanceReading(type: ResistanceType, options: SensorOptions): Reading {
  refuseOption(type, '--cold-junction', options.coldJunction, 'thermocouples');
  const { name, value } = theOnlyOne(type, options, ['celsius', 'ohm'] as const);
  const leadOhm = options.leadOhm ?? 0;
  const { fromC, toC } = resistanceRangeC;
  if (name === 'celsius') {
    const elementOhm = ohmOfCelsius(type, value);
    if (elementOhm === null) {
      throw outside('--celsius', `${value} °C`, `${fromC} to ${toC} °C, the range of IEC 60751`);
    }
    return { celsius: value, signal: { ohm: elementOhm + leadOhm } };
  }
  const celsius = celsiusOfOhm(type, value - leadOhm);
  if (celsius === null) {
    const ends = [fromC, toC].map((tempC) =>
      ((ohmOfCelsius(type, tempC) ?? 0) + leadOhm).toFixed(2),
    );
    const expected = `${ends.join(' to ')} Ω for ${type}, its range in IEC 60751; a broken or shorted wire is outside`;
    throw outside('--ohm', `${value} Ω`, expected);
  }
  return { celsius, signal: { ohm: value } };
}

function outside(field: string, found: string, expected: string): CommandProblem {
  return new CommandProblem({ code: 'outside-range', field, found, expected });
}

function textOf(
  type: ElementType,
  celsius: number,
  signal: Reading['signal'],
  { coldJunction, leadOhm, class: className }: SensorOptions,
  tolerance: Tolerance | null,
  halfWidthK: number | null,
): string {
  const measured =
    'ohm' in signal ? `${signal.ohm.toFixed(3)} Ω` : `${signal.millivolt.toFixed(4)} mV`;
  const with_ = [
    coldJunction === undefined ? '' : `, terminals at ${coldJunction} °C`,
    leadOhm === undefined ? '' : `, wires adding ${leadOhm} Ω`,
  ].join('');
  const first = `${celsius.toFixed(2)} °C is ${measured} (${type}${with_})`;
  if (tolerance === null || className === undefined) return first;
  const by = `${tolerance.standard} class ${tolerance.class}`;
  return halfWidthK === null
    ? `${first}\nno tolerance: ${by} ends at ${tolerance.fromC} and ${tolerance.toC} °C`
    : `${first}\ntolerance ±${Number(halfWidthK.toFixed(3))} K by ${by}`;
}
