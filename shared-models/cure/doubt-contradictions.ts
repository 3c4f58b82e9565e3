import { lawConstants, LN_REFERENCE_MIN } from './law-constants.ts';
import type { LawContradiction } from './law-contradictions.ts';
import type { LawCovariance, LawSpec } from './law-spec.ts';

/** Rounding that a written correlation may have. */
const ROUNDING = 1e-6;

/** What in a law's stated errors cannot be meant. */
export function doubtContradictions(spec: LawSpec): LawContradiction[] {
  const { standardErrors = {}, covariance } = spec;
  if (spec.standardErrors === undefined && covariance === undefined) return [];
  const known = [...lawConstants(spec).keys()];
  if ('form' in spec && 'referenceC' in spec) known.push(LN_REFERENCE_MIN);
  const unknown = (name: string, path: (string | number)[]): LawContradiction[] =>
    known.includes(name)
      ? []
      : [
          {
            code: 'contradiction',
            path,
            found: JSON.stringify(name.slice(0, 60)),
            expected:
              known.length === 0
                ? 'no such name: this form has no constant that may err'
                : `a constant of this law: ${known.join(', ')}`,
          },
        ];
  const found = Object.keys(standardErrors).flatMap((name) =>
    unknown(name, ['standardErrors', name]),
  );
  if (covariance === undefined) return found;
  const { names } = covariance;
  names.forEach((name, i) => {
    found.push(...unknown(name, ['covariance', 'names', i]));
    if (names.indexOf(name) < i) {
      found.push({
        code: 'contradiction',
        path: ['covariance', 'names', i],
        found: `${name} twice`,
        expected: 'each constant once',
      });
    }
  });
  return [...found, ...matrixContradictions(covariance)];
}

function matrixContradictions({ names, matrix }: LawCovariance): LawContradiction[] {
  const size = names.length;
  const of = (path: (string | number)[], found: string, expected: string): LawContradiction[] => [
    { code: 'contradiction', path: ['covariance', 'matrix', ...path], found, expected },
  ];
  if (matrix.length !== size) return of([], `${matrix.length} rows`, `${size}, one a name`);
  const short = matrix.findIndex((row) => row.length !== size);
  if (short >= 0) return of([short], `${matrix[short]!.length} columns`, `${size}, one a name`);
  const at = (i: number, j: number) => matrix[i]![j]!;
  const scales = names.map((_, i) => Math.sqrt(Math.max(0, at(i, i))));
  for (let i = 0; i < size; i++) {
    if (at(i, i) < 0) return of([i, i], `${at(i, i)}`, 'a variance, 0 or more');
    for (let j = 0; j < i; j++) {
      if (Math.abs(at(i, j) - at(j, i)) > ROUNDING * scales[i]! * scales[j]!) {
        return of([i, j], `${at(i, j)}, and ${at(j, i)} across`, 'a symmetric matrix');
      }
    }
  }
  return isPossible(
    names.map((_, i) => names.map((__, j) => share(at(i, j), scales[i]!, scales[j]!))),
  )
    ? []
    : of([], 'correlations that cannot hold together', 'a covariance: no combination below 0');
}

function share(covariance: number, one: number, other: number): number {
  if (covariance === 0) return 0;
  return covariance / one / other;
}

/** Whether no combination has a negative variance: elimination leaves no pivot below 0. */
function isPossible(correlations: number[][]): boolean {
  const rest = correlations.map((row) => [...row]);
  for (let k = 0; k < rest.length; k++) {
    const pivot = rest[k]![k]!;
    // A covariance with a constant that does not err is infinite as a correlation.
    if (!(pivot >= -ROUNDING) || !rest[k]!.every(Number.isFinite)) return false;
    if (pivot <= ROUNDING) continue;
    for (let i = k + 1; i < rest.length; i++) {
      const factor = rest[i]![k]! / pivot;
      for (let j = k; j < rest.length; j++) rest[i]![j]! -= factor * rest[k]![j]!;
    }
  }
  return true;
}
