/** What is asked of a bundle. */
export type Check = 'authentic' | 'complete' | 'recomputed';

export type FindingCode =
  // The file itself
  | 'not-a-bundle'
  | 'not-canonical'
  | 'unknown-member'
  | 'missing-member'
  | 'broken-json'
  | 'unreadable-entry'
  // Whether it is what was recorded
  | 'member-changed'
  | 'not-what-was-exported'
  | 'not-in-checkpoint'
  | 'bad-checkpoint'
  | 'bad-signature'
  | 'other-key'
  | 'key-not-in-log'
  | 'since-broken'
  | 'since-not-shown'
  | 'other-log'
  | 'future-time'
  // Whether it is all
  | 'no-listing'
  | 'list-ends-early'
  | 'entry-missing'
  | 'entry-not-listed'
  | 'revision-missing'
  | 'foundation-missing'
  | 'lot-file-differs'
  | 'not-the-period'
  | 'period-file-differs'
  // Whether it comes out the same
  | 'documents-gone'
  | 'not-what-was-sealed'
  | 'recipe-differs'
  | 'account-differs'
  | 'model-unreleased'
  | 'model-unknown'
  | 'model-failed'
  | 'result-differs'
  | 'coats-differ';

/** One thing that is not as it must be, in words that need no knowledge of the program. */
export interface BundleFinding {
  code: FindingCode;
  check: Check;
  /** A member, an entry (`entry 17`), or the bundle. */
  where: string;
  found: string;
  expected: string;
}

/** Gathers findings; what is wrong in a thousand places is told for the first hundred of each kind. */
export class Findings {
  readonly list: BundleFinding[] = [];
  readonly #counts = new Map<FindingCode, number>();

  /** What was found in a bundle within this one, by its name. */
  addOf(member: string, { code, check, where, found, expected }: BundleFinding): void {
    this.add(code, check, `${member}: ${where}`, found, expected);
  }

  add(code: FindingCode, check: Check, where: string, found: string, expected: string): void {
    const count = (this.#counts.get(code) ?? 0) + 1;
    this.#counts.set(code, count);
    if (count > mostOfAKind) return;
    const words = { where: short(where), found: short(found), expected: short(expected) };
    this.list.push({ code, check, ...words });
  }

  /** How often a kind was found, told or not. */
  count(code: FindingCode): number {
    return this.#counts.get(code) ?? 0;
  }

  has(check: Check): boolean {
    return this.list.some((finding) => finding.check === check);
  }
}

const mostOfAKind = 100;

function short(text: string): string {
  const plain = plainLine(text);
  return plain.length > 200 ? `${plain.slice(0, 200)}…` : plain;
}

/** What stands in a hostile file may be any text: nothing of it moves a terminal or begins a line. */
export function plainLine(text: string): string {
  return text.replaceAll(/[\p{C}\u2028\u2029]/gu, '\u{fffd}');
}
