import type { z } from 'zod';
import type { Finding, Read } from './finding.ts';
import { type FindingDetails, type LocatedYaml, type Path, valueAt } from './located-yaml.ts';
import { nearestName } from './nearest-name.ts';
import { keysAt } from './schema-keys.ts';

/** More would be one fault told a thousand times. */
export const mostFindings = 200;

type Issue = z.core.$ZodIssue;

/** A document as its schema understands it; or every place where it does not. */
export function readShape<S extends z.ZodType>(yaml: LocatedYaml, schema: S): Read<z.output<S>> {
  const parsed = schema.safeParse(yaml.value);
  if (parsed.success) return { ok: true, value: parsed.data, findings: [] };
  const findings = parsed.error.issues.flatMap((issue) => findingsOf(issue, [], yaml, schema));
  findings.sort((a, b) => a.line - b.line || a.column - b.column);
  return { ok: false, findings: findings.slice(0, mostFindings) };
}

function findingsOf(
  issue: Issue,
  above: Path,
  yaml: LocatedYaml,
  schema: z.core.$ZodType,
): Finding[] {
  const path = [...above, ...issue.path.map(partOf)];
  const value = valueAt(yaml.value, path);
  const found = describeValue(value, yaml.written(path));
  if (issue.code === 'unrecognized_keys') {
    return issue.keys.map((key) =>
      yaml.keyFinding([...path, key], unknownKey(key, keysAt(schema, path, yaml.value), value)),
    );
  }
  if (issue.code === 'invalid_union' && issue.errors.length > 0) {
    if (value === undefined) return [yaml.finding(path, missingKey('a value'))];
    const atRoot = issue.errors.every((branch) =>
      branch.every((each) => each.path.length === 0 && each.code !== 'unrecognized_keys'),
    );
    if (!atRoot) {
      return likeliestBranch(issue.errors).flatMap((each) => findingsOf(each, path, yaml, schema));
    }
    const all = issue.errors.flat();
    const wanted = [
      ...new Set(all.map((each) => expectedOf(each, keysAt(schema, path, yaml.value)))),
    ];
    const named = typeof value === 'string' && all.some((each) => each.code === 'invalid_value');
    const nearest = all.map((each) => nearestOf(each, value)).find((name) => name !== null) ?? null;
    const code = named ? 'not-one-of' : 'wrong-type';
    return [yaml.finding(path, { ...wrong(code, value, found, wanted.join(' or ')), nearest })];
  }
  const expected = expectedOf(issue, keysAt(schema, path, yaml.value));
  if (value === undefined) return [yaml.finding(path, missingKey(expected))];
  return [
    yaml.finding(path, {
      ...wrong(codeOf(issue), value, found, expected),
      nearest: nearestOf(issue, value),
    }),
  ];
}

function partOf(part: PropertyKey): string | number {
  return typeof part === 'number' ? part : String(part);
}

/** Of several shapes, the one that was probably meant: a key that stands there says more than one that is missing. */
function likeliestBranch(branches: Issue[][]): Issue[] {
  const unlikeliness = (branch: Issue[]) =>
    branch.reduce((sum, issue) => {
      if (issue.code === 'unrecognized_keys') return sum + 1.5 * issue.keys.length;
      return sum + (issue.path.length === 0 ? 100 : 1);
    }, 0);
  return branches.reduce((best, next) => (unlikeliness(next) < unlikeliness(best) ? next : best));
}

function unknownKey(key: string, keys: string[], parent: unknown): FindingDetails {
  const rest = { code: 'unknown-key', found: JSON.stringify(key.slice(0, 80)) };
  // `{ thicknessMm: 1,5 }` is a key 1 and a key 5 to YAML.
  if (/^\d+$/.test(key) && valueAt(parent, [key]) === null) {
    return { ...rest, expected: 'a point in decimals, such as 1.5: a comma begins the next key' };
  }
  const nearest = nearestName(key, keys);
  return {
    ...rest,
    expected: keys.length > 0 ? `one of ${keys.join(', ')}` : 'no such key',
    nearest,
  };
}

function missingKey(expected: string): FindingDetails {
  return { code: 'missing-key', found: 'nothing', expected };
}

function wrong(code: string, value: unknown, found: string, expected: string): FindingDetails {
  return { code, found, expected: `${expected}${hintFor(value, found, expected)}` };
}

/** What people who meet this refusal usually have to change. */
function hintFor(value: unknown, found: string, expected: string): string {
  if (typeof value === 'number' && expected.startsWith('text')) return `, in quotes: "${found}"`;
  if (typeof value === 'boolean' && expected.startsWith('text')) return `, in quotes: "${found}"`;
  if (typeof value !== 'string') return '';
  if (expected === 'true or false' || expected === 'true') {
    if (/^(y|yes|on)$/i.test(value)) return ': YAML 1.2 writes true';
    if (/^(n|no|off)$/i.test(value)) return ': YAML 1.2 writes false';
  }
  if (!/number/.test(expected)) return '';
  if (/^[+-]?\d+,\d+$/.test(value)) return `, with a point: ${value.replace(',', '.')}`;
  const [, digits, unit] = /^([+-]?\d+(?:\.\d+)?)\s*(\S.{0,20})$/.exec(value) ?? [];
  if (digits === undefined || unit === undefined) return '';
  if (/^°?\s?F$/i.test(unit)) return `, in °C: ${celsiusOf(Number(digits))}`;
  return `, without its unit: ${digits}`;
}

function celsiusOf(fahrenheit: number): number {
  return Math.floor(((fahrenheit - 32) / 1.8) * 10 + 0.5) / 10;
}

function codeOf(issue: Issue): string {
  switch (issue.code) {
    case 'invalid_type':
      return 'wrong-type';
    case 'invalid_value':
    case 'invalid_union':
      return 'not-one-of';
    case 'too_small':
    case 'too_big':
    case 'not_multiple_of':
      return 'out-of-range';
    case 'invalid_format':
      return 'wrong-form';
    case 'unrecognized_keys':
    case 'invalid_key':
      return 'unknown-key';
    case 'invalid_element':
    case 'custom':
      return 'wrong';
  }
}

function nearestOf(issue: Issue, value: unknown): string | null {
  if (typeof value !== 'string') return null;
  if (issue.code === 'invalid_value') return nearestName(value, issue.values.map(String));
  if (issue.code === 'invalid_union' && 'options' in issue) {
    return nearestName(value, issue.options?.map(String) ?? []);
  }
  return null;
}

function expectedOf(issue: Issue, keys: string[]): string {
  switch (issue.code) {
    case 'invalid_type':
      return (
        typeWords[issue.expected] ?? (keys.length > 0 ? `keys ${keys.join(', ')}` : issue.expected)
      );
    case 'invalid_value':
      return issue.values.length === 1
        ? String(issue.values[0])
        : `one of ${issue.values.map(String).join(', ')}`;
    case 'invalid_union':
      return 'options' in issue && issue.options
        ? `one of ${issue.options.map(String).join(', ')}`
        : issue.message;
    case 'too_small':
      return bound(
        issue.origin,
        issue.inclusive === false ? 'more than' : 'at least',
        issue.minimum,
      );
    case 'too_big':
      return bound(
        issue.origin,
        issue.inclusive === false ? 'less than' : 'at most',
        issue.maximum,
      );
    case 'invalid_format':
      return formatWords[issue.format] ?? issue.message;
    case 'not_multiple_of':
    case 'unrecognized_keys':
    case 'invalid_key':
    case 'invalid_element':
    case 'custom':
      return issue.message;
  }
}

const typeWords: Partial<Record<string, string>> = {
  string: 'text',
  number: 'a number',
  int: 'a whole number',
  boolean: 'true or false',
  array: 'a list',
  tuple: 'a list',
};

const formatWords: Partial<Record<string, string>> = {
  date: 'a date such as 2026-01-12',
  datetime: 'a time with zone such as 2026-01-12T06:00:00Z',
};

function bound(origin: string, words: string, limit: number | bigint): string {
  const things = origin === 'string' ? ' characters' : origin === 'array' ? ' entries' : '';
  return `${things === '' ? 'a number of ' : ''}${words} ${limit}${things}`;
}

/** What stands there, short enough for a sentence. */
export function describeValue(value: unknown, written: string | null): string {
  if (value === null || value === undefined) return 'nothing';
  if (typeof value === 'number') return written ?? String(value);
  if (typeof value === 'string') {
    return JSON.stringify(value.length > 60 ? `${value.slice(0, 60)}…` : value);
  }
  if (Array.isArray(value)) return `a list of ${value.length}`;
  return typeof value === 'object' ? 'keys' : String(value);
}
