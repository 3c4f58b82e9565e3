/**
 * The one text of a JSON value: members sorted by UTF-16 code units, no white space, numbers and
 * strings as ECMAScript writes them. Members that are `undefined` are left out, as in JSON.
 *
 * @throws RangeError for what JSON cannot say (NaN, an infinity, a lone surrogate, a function,
 *   `undefined` in an array): a caller's bug, not bad data
 * @source RFC 8785 (JSON Canonicalization Scheme), 3.2; checked against its appendix B
 */
export function canonicalJson(value: unknown): string {
  switch (typeof value) {
    case 'string':
      return canonicalString(value);
    case 'number':
      if (!Number.isFinite(value)) throw new RangeError(`canonical JSON has no ${value}`);
      return JSON.stringify(value);
    case 'boolean':
      return value ? 'true' : 'false';
    case 'object':
      if (value === null) return 'null';
      if (Array.isArray(value)) return `[${value.map(canonicalJson).join(',')}]`;
      return canonicalObject(value as Record<string, unknown>);
    case 'bigint':
    case 'function':
    case 'symbol':
    case 'undefined':
      throw new RangeError(`canonical JSON has no ${typeof value}`);
  }
}

function canonicalObject(value: Record<string, unknown>): string {
  const members: string[] = [];
  // The default order of sort() is by UTF-16 code units: the one the scheme asks for.
  for (const name of Object.keys(value).sort()) {
    const member = value[name];
    if (member === undefined) continue;
    members.push(`${canonicalString(name)}:${canonicalJson(member)}`);
  }
  return `{${members.join(',')}}`;
}

/** Half of a pair. It is no text: no encoding has it. */
export const loneSurrogate =
  /[\uD800-\uDBFF](?![\uDC00-\uDFFF])|(?<![\uD800-\uDBFF])[\uDC00-\uDFFF]/;

function canonicalString(value: string): string {
  if (loneSurrogate.test(value)) throw new RangeError('canonical JSON has no lone surrogate');
  return JSON.stringify(value);
}
