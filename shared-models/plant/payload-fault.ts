import { isWellFormed, wellFormed } from '../record/well-formed.ts';

/** Why a payload, or one reading in it, cannot be taken. */
export interface PayloadFault {
  code:
    | 'not-json'
    | 'wrong-shape'
    | 'missing-field'
    | 'not-a-number'
    | 'not-a-time'
    | 'wrong-unit'
    | 'unknown-point'
    | 'unknown-event'
    | 'unknown-recipe-shape';
  /** Where in the payload; empty for the whole of it. */
  field: string;
  /** What stands there, shortened. */
  found: string;
  expected: string;
}

const longestFound = 80;

export function fault(
  code: PayloadFault['code'],
  field: string,
  found: unknown,
  expected: string,
): PayloadFault {
  const text = found === undefined ? 'nothing' : (JSON.stringify(found) ?? String(found));
  return { code, field, found: shortened(text), expected };
}

export function shortened(text: string): string {
  return text.length <= longestFound ? text : `${text.slice(0, longestFound)}…`;
}

/** Nothing here needs more than four; beyond some thousands a text cannot be written again. */
const mostLevels = 32;

/** How half of a surrogate pair has to be written in JSON: as bytes it would be no UTF-8. */
const surrogateEscape = /\\u[dD][89a-fA-F]/;

/** The value of a JSON text, or why it has none. */
export function parseJson(text: string): { value: unknown } | PayloadFault {
  let value: unknown;
  try {
    value = JSON.parse(text);
    if (surrogateEscape.test(text)) {
      // Half a pair is no text: what holds it could not be written into the record.
      const wrong = loneSurrogateIn(value);
      if (wrong !== null) return fault('wrong-shape', '', wellFormed(wrong), 'Unicode text');
    }
  } catch {
    const found = text.trim() === '' ? 'nothing' : shortened(text);
    return { code: 'not-json', field: '', found, expected: 'JSON' };
  }
  // A short text cannot be deep.
  if (text.length > 2 * mostLevels && isDeeperThan(value, mostLevels)) {
    const expected = `JSON of at most ${mostLevels} levels`;
    return { code: 'wrong-shape', field: '', found: shortened(text), expected };
  }
  return { value };
}

/** A text, or a member's name, that is not well formed; null: there is none. */
function loneSurrogateIn(value: unknown): string | null {
  if (typeof value === 'string') return isWellFormed(value) ? null : value;
  if (typeof value !== 'object' || value === null) return null;
  for (const [name, member] of Object.entries(value)) {
    const wrong = loneSurrogateIn(name) ?? loneSurrogateIn(member);
    if (wrong !== null) return wrong;
  }
  return null;
}

/** Whether a value has arrays or objects within each other beyond so many levels. */
export function isDeeperThan(value: unknown, levels: number): boolean {
  if (typeof value !== 'object' || value === null) return false;
  return levels === 0 || Object.values(value).some((member) => isDeeperThan(member, levels - 1));
}

export function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

/** Times of a plant [ms]: the years 2001 to 2100. Seconds taken for milliseconds fall outside. */
const [leastMs, mostMs] = [1e12, 4.1e12];

export const timeExpected =
  'RFC 3339 with zone, or milliseconds since 1970 (13 digits), such as 1772431200000';

export function isPlantTime(ms: number): boolean {
  return ms >= leastMs && ms <= mostMs;
}
