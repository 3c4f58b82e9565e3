import type { LawSpec } from './law-spec.ts';

/** Chosen, or a limit that is kept: no constants that a fit may have got wrong. */
const CHOSEN: readonly string[] = [
  ...['validC', 'floorC', 'ceilingC', 'initial', 'gasConstant', 'referenceC', 'untilAlpha'],
  ...['standardErrors', 'covariance'],
];

/** The name under which a law may err in the minutes that its window asks for. */
export const LN_REFERENCE_MIN = 'lnReferenceMin';

/** The constants of a law that may err, by name, nested ones with dots. */
export function lawConstants(spec: LawSpec): Map<string, number> {
  const constants = new Map<string, number>();
  const collect = (value: unknown, name: string) => {
    if (typeof value === 'number') constants.set(name, value);
    if (typeof value !== 'object' || value === null) return;
    for (const [key, within] of Object.entries(value)) {
      if (!CHOSEN.includes(key)) collect(within, name === '' ? key : `${name}.${key}`);
    }
  };
  collect(spec, '');
  return constants;
}

/** The law with one of its constants at another value. */
export function withConstant(spec: LawSpec, name: string, value: number): LawSpec {
  return replaced(spec, name.split('.'), value) as LawSpec;
}

function replaced(whole: unknown, [key, ...rest]: readonly string[], value: number): unknown {
  if (key === undefined) return value;
  if (Array.isArray(whole)) {
    return whole.map((each: unknown, i) =>
      String(i) === key ? replaced(each, rest, value) : each,
    );
  }
  const within = whole as Record<string, unknown>;
  return { ...within, [key]: replaced(within[key], rest, value) };
}

/** Standard error of a constant: by the covariance where that names it; undefined where none is stated. */
export function standardErrorOf(
  { covariance, standardErrors }: LawSpec,
  name: string,
): number | undefined {
  const at = covariance?.names.indexOf(name) ?? -1;
  const variance = covariance?.matrix[at]?.[at];
  return variance === undefined ? standardErrors?.[name] : Math.sqrt(Math.max(0, variance));
}
