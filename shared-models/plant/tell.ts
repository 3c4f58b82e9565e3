import type { Finding, Read } from './finding.ts';
import type { FindingDetails, LocatedYaml, Path } from './located-yaml.ts';
import { mostFindings } from './schema-findings.ts';

/** Takes what is wrong, and where. */
export type Tell = (path: Path, details: FindingDetails) => void;

/** The same id twice in one list. */
export function tellTwiceIn(list: readonly { id: string }[], path: Path, tell: Tell): void {
  const seen = new Set<string>();
  list.forEach(({ id }, index) => {
    if (seen.has(id)) tell([...path, index, 'id'], twice(id, 'another'));
    seen.add(id);
  });
}

export function twice(id: string, before: string): FindingDetails {
  return {
    code: 'id-twice',
    found: `${JSON.stringify(id)} twice`,
    expected: `an id unlike ${before}`,
  };
}

/** A value with what `check` tells of it: refused if any of that is an error. */
export function tellingInto<T>(yaml: LocatedYaml, value: T, check: (tell: Tell) => void): Read<T> {
  const findings: Finding[] = [];
  check((path, details) => findings.push(yaml.finding(path, details)));
  findings.sort((a, b) => a.line - b.line || a.column - b.column);
  const told = findings.slice(0, mostFindings);
  if (findings.some(({ severity }) => severity === 'error')) return { ok: false, findings: told };
  return { ok: true, value, findings: told };
}
