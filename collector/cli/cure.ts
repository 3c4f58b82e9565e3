import { createLaw } from '@setwell/shared-models/cure/create-law';
import type { Law } from '@setwell/shared-models/cure/law';
import type { LawSpec } from '@setwell/shared-models/cure/law-spec';
import { timeTemperatureMap } from '@setwell/shared-models/cure/map';
import { mapPicture } from '@setwell/shared-models/cure/map-picture';
import { foldProfile } from '@setwell/shared-models/cure/profile';
import { rangesLeft } from '@setwell/shared-models/cure/profile-range';
import type { RangeLeft } from '@setwell/shared-models/cure/profile-range';
import { referenceLint } from '@setwell/shared-models/cure/reference-lint';
import type { ReferenceLint } from '@setwell/shared-models/cure/reference-lint';
import { readLaw } from '@setwell/shared-models/plant/read-law';
import { ABSOLUTE_ZERO_C } from '@setwell/shared-models/units/temperature';
import type { Command } from 'commander';
import { writeFileSync } from 'node:fs';
import { readNumberTable } from '../number-table.ts';
import { CommandProblem, problemOfFile } from '../problem.ts';
import { answered } from './answer.ts';
import type { Answer } from './answer.ts';
import { readOwnFile } from './own-file.ts';

interface CureOptions {
  law: string;
  profile: string;
  at?: string;
  inCelsius?: boolean;
  map?: string;
  window?: string;
}

/** A profile as read: linear between its rows; equal times are a step. */
interface Profile {
  timesS: number[];
  /** [°C], for a dose [mW/cm²] */
  temps: number[];
}

/** Where cure temperatures lie [°C]; numbers above that fit as °F are refused as °F. */
const usualC = [-30, 260] as const;

/** More times than that are a profile of their own. */
const mostTimes = 10_000;

/** Temperatures of a drawn map: one each quarter of a pixel. */
const mapTemperatures = 121;

/** A map of a held profile still shows what is beside it [K]. */
const mapMarginK = 15;

export function registerCure(program: Command): void {
  program
    .command('cure')
    .description('add up cure by a law over a temperature profile')
    .requiredOption('--law <file>', 'law, YAML or JSON')
    .requiredOption('--profile <file>', 'CSV time_s,temp_c (dose: time_s,irradiance_mw_per_cm2)')
    .option('--at <s,s,…>', 'times at which the measure is told [s]')
    .option('--in-celsius', 'the temperatures are °C, high as they look')
    .option('--map <file.svg>', 'draw the law’s time-temperature map')
    .option(
      '--window <least,most>',
      'window shaded in the map, in the law’s unit; most may be absent',
    )
    .action(answered(answerCure));
}

function answerCure(options: CureOptions): Answer {
  const spec = readOwnFile(options.law, readLaw, 'a law');
  const law = createLaw(spec);
  const profile = readProfile(options, law);
  const { timesS, temps } = profile;
  const atS = options.at === undefined ? [] : timesOf(options.at, profile);
  const measures = measuresAt(law, profile, atS);
  const value = law.value(foldProfile(law, timesS, temps));
  const left = law.measure === 'dose' ? [] : rangesLeft(spec, timesS, temps);
  const spanC: [number, number] = [Math.min(...spanOf(temps)), Math.max(...spanOf(temps))];
  const lint = referenceLint(spec, spec.validC ?? spanC, value);
  if (options.map !== undefined) drawMap(options.map, law, spec, spanC, value, options.window);
  const notes = [...left.map(rangeText), ...(lint === null ? [] : [lintText(lint)])];
  return {
    document: {
      measure: law.measure,
      unit: law.unit,
      value,
      at: atS.map((timeS, i) => ({ timeS, value: measures[i] })),
      notes,
    },
    text: [
      `${law.measure} ${valueText(value, law)}`,
      ...atS.map((timeS, i) => `at ${timeS} s ${valueText(measures[i] ?? NaN, law)}`),
      ...notes.map((note) => `note: ${note}`),
    ].join('\n'),
  };
}

function readProfile({ profile: file, inCelsius }: CureOptions, law: Law): Profile {
  const isDose = law.measure === 'dose';
  const name = isDose ? 'irradiance_mw_per_cm2' : 'temp_c';
  const table = readNumberTable(file, {
    what: `a profile, time_s,${name}`,
    columns: [
      { name: 'time_s', order: 'not-falling' },
      isDose
        ? { name, least: 0 }
        : { name, least: ABSOLUTE_ZERO_C, ...(inCelsius === true ? {} : { usualC }) },
    ],
  });
  return { timesS: table.full('time_s'), temps: table.full(name) };
}

function timesOf(written: string, { timesS }: Profile): number[] {
  const parts = written.split(',').map((part) => part.trim());
  const first = timesS[0] ?? 0;
  const last = timesS.at(-1) ?? 0;
  if (parts.length > mostTimes) {
    throw new CommandProblem({
      code: 'too-many-times',
      field: '--at',
      found: `${parts.length} times`,
      expected: `at most ${mostTimes}`,
    });
  }
  return parts.map((part) => {
    const timeS = part === '' ? NaN : Number(part);
    if (timeS >= first && timeS <= last) return timeS;
    throw new CommandProblem({
      code: Number.isFinite(timeS) ? 'outside-profile' : 'no-number',
      field: '--at',
      found: JSON.stringify(part.slice(0, 60)),
      expected: `seconds within the profile, ${first} to ${last}`,
    });
  });
}

/** The measure at each time: folded through whole rows, then to the time itself. */
function measuresAt(law: Law, { timesS, temps }: Profile, atS: readonly number[]): number[] {
  const order = atS.map((_, i) => i).sort((a, b) => (atS[a] ?? 0) - (atS[b] ?? 0) || a - b);
  const measures = new Array<number>(atS.length).fill(law.value(law.initial));
  let state = law.initial;
  let row = 0;
  for (const i of order) {
    const timeS = atS[i] ?? 0;
    while (row + 1 < timesS.length && (timesS[row + 1] ?? 0) <= timeS) {
      state = foldProfile(law, timesS.slice(row, row + 2), temps.slice(row, row + 2), state);
      row += 1;
    }
    const fromS = timesS[row] ?? 0;
    const from = temps[row] ?? 0;
    const spanS = (timesS[row + 1] ?? fromS) - fromS;
    if (timeS === fromS || spanS === 0) {
      measures[i] = law.value(state);
      continue;
    }
    const to = from + ((temps[row + 1] ?? from) - from) * ((timeS - fromS) / spanS);
    measures[i] = law.value(law.advance(state, from, to, timeS - fromS));
  }
  return measures;
}

function drawMap(
  file: string,
  law: Law,
  spec: LawSpec,
  spanC: [number, number],
  value: number,
  writtenWindow: string | undefined,
): void {
  if (law.measure === 'dose') {
    throw new CommandProblem({
      code: 'no-map',
      field: '--map',
      found: 'a dose',
      expected: 'a law of temperature',
    });
  }
  const window = writtenWindow === undefined ? null : windowOf(writtenWindow);
  const [fromC, toC] = spec.validC ?? [
    Math.max(ABSOLUTE_ZERO_C, spanC[0] - mapMarginK),
    spanC[1] + mapMarginK,
  ];
  const values = window === null ? [value / 2, value].filter((each) => each > 0) : [];
  const map = timeTemperatureMap(law, { fromC, toC, count: mapTemperatures }, values, window);
  try {
    writeFileSync(file, mapPicture(map, `Time and temperature, ${law.measure}`));
  } catch (error) {
    throw problemOfFile(file, error, 'a file to write the map to');
  }
}

function windowOf(written: string): { least: number; most: number | null } {
  const [least, most, ...more] = written.split(',').map((part) => Number(part.trim() || NaN));
  if (more.length === 0 && least !== undefined && least > 0 && (most === undefined || most > least))
    return { least, most: most ?? null };
  throw new CommandProblem({
    code: 'wrong-window',
    field: '--window',
    found: JSON.stringify(written.slice(0, 60)),
    expected: 'a least above 0, or a least and a greater most with a comma between',
  });
}

/** Least and greatest, without spreading a long profile over a call's arguments. */
function spanOf(values: readonly number[]): [number, number] {
  let least = Infinity;
  let greatest = -Infinity;
  for (const value of values) {
    least = Math.min(least, value);
    greatest = Math.max(greatest, value);
  }
  return [least, greatest];
}

function rangeText({ limit, side, limitC, seconds }: RangeLeft): string {
  const minutes = `${(seconds / 60).toPrecision(3)} min ${side} ${limitC} °C`;
  switch (limit) {
    case 'floorC':
      return `${minutes}, the floor: nothing earned there`;
    case 'ceilingC':
      return `${minutes}, the ceiling: nothing earned there`;
    case 'validC':
      return `${minutes}, outside the range the law was found in`;
  }
}

function lintText({ referenceC, processC, costMin, doubtIs, measureMin }: ReferenceLint): string {
  const doubt = doubtIs === 'stated' ? 'its stated doubt (k = 2)' : 'a doubt of 5 %';
  return `the reference of ${referenceC} °C lies outside ${processC[0]} to ${processC[1]} °C: ${doubt} of the activation energy is up to ${costMin.toPrecision(2)} of ${measureMin.toPrecision(3)} min`;
}

function valueText(value: number, { unit }: Law): string {
  return `${Number(value.toPrecision(10))}${unit === '1' ? '' : ` ${unit}`}`;
}
