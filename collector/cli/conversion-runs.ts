import type { ConversionRun } from '@setwell/shared-models/cure/fit/conversion-run';
import { ABSOLUTE_ZERO_C } from '@setwell/shared-models/units/temperature';
import { readNumberTable } from '../number-table.ts';
import { CommandProblem } from '../problem.ts';

/** Fewer rows give no curve. */
const leastRowsPerRun = 3;

/**
 * Conversion curves, `run,time_s,temp_c,alpha`; the rows of a run stand in order of time.
 *
 * @throws CommandProblem naming file, line and column
 */
export function readConversionRuns(
  file: string,
  usualC: readonly [number, number] | undefined,
  mostRows: number,
): ConversionRun[] {
  const table = readNumberTable(file, {
    what: 'conversion curves, run,time_s,temp_c,alpha',
    leastRows: leastRowsPerRun,
    columns: [
      { name: 'run', kind: 'text' },
      { name: 'time_s' },
      { name: 'temp_c', least: ABSOLUTE_ZERO_C, ...(usualC === undefined ? {} : { usualC }) },
      { name: 'alpha', least: 0, most: 1 },
    ],
  });
  const [times, temps, alphas] = ['time_s', 'temp_c', 'alpha'].map((name) => table.full(name));
  const { lines } = table;
  if (lines.length > mostRows) {
    throw new CommandProblem({
      code: 'too-many-rows',
      file,
      found: `${lines.length} rows`,
      expected: `at most ${mostRows}`,
    });
  }
  const runs = new Map<string, ConversionRun>();
  table.texts('run').forEach((name, i) => {
    const run = runs.get(name) ?? { name, timesS: [], tempsC: [], alphas: [] };
    runs.set(name, run);
    const timeS = times?.[i] ?? NaN;
    const before = run.timesS.at(-1);
    if (before !== undefined && timeS <= before) {
      throw new CommandProblem({
        code: timeS === before ? 'same-time-twice' : 'descending',
        file,
        line: lines[i] ?? null,
        field: 'time_s',
        found: `${timeS} after ${before} in run ${JSON.stringify(name)}`,
        expected: 'times that rise within each run',
      });
    }
    run.timesS.push(timeS);
    run.tempsC.push(temps?.[i] ?? NaN);
    run.alphas.push(alphas?.[i] ?? NaN);
  });
  for (const { name, timesS } of runs.values()) {
    if (timesS.length >= leastRowsPerRun) continue;
    throw new CommandProblem({
      code: 'too-few-rows',
      file,
      field: 'run',
      found: `${timesS.length} rows in run ${JSON.stringify(name)}`,
      expected: `at least ${leastRowsPerRun} rows in each run`,
    });
  }
  return [...runs.values()];
}
