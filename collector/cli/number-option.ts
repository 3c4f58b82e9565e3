import { decimalNumber, withPoint } from '../decimal-number.ts';
import { CommandProblem } from '../problem.ts';

export interface NumberRule {
  /** Inclusive. */
  least?: number;
  most?: number;
  /** Exclusive. */
  above?: number;
}

/**
 * Reader of an option's number, for commander.
 *
 * @param flag as written on the command line: `--sigma`
 * @param unit in words, for the refusal: "a temperature in °C"
 */
export function numberOption(
  flag: string,
  unit: string,
  rule: NumberRule = {},
): (written: string) => number {
  const { least = -Infinity, most = Infinity, above = -Infinity } = rule;
  return (written) => {
    const value = decimalNumber(written);
    if (value !== null && value >= least && value <= most && value > above) return value;
    const bounds = [
      Number.isFinite(above) ? `above ${above}` : '',
      Number.isFinite(least) ? `from ${least}` : '',
      Number.isFinite(most) ? `to ${most}` : '',
    ].filter((part) => part !== '');
    const pointed = withPoint(written);
    const comma = pointed === null ? '' : `, with a point: ${pointed}`;
    throw new CommandProblem({
      code: value === null ? 'no-number' : 'out-of-range',
      field: flag,
      found: JSON.stringify(written.slice(0, 60)),
      expected: [unit, ...bounds].join(' ') + comma,
    });
  };
}
