import { dictionary } from '@zxcvbn-ts/language-common';
import { Problem } from '../problem.ts';

/** Commonly used passwords, most used first, all in small letters. */
const common: ReadonlySet<string> = new Set(dictionary['passwords-common']);

/** Words of what is protected, which are tried first. */
const ours = ['setwell', 'password', 'passwort', 'kennwort', 'administrator'];

/**
 * Whether a password stands on a list of those that are commonly used or to be expected here
 * (NIST SP 800-63B, 5.1.1.2): as a whole, one of them with digits and signs around it, one of them
 * twice, or a piece of at most four characters again and again.
 *
 * @param words what is to be expected: the person's name, the plant's
 */
export function isCommonPassword(password: string, words: readonly string[]): boolean {
  const text = password.normalize('NFKC').toLowerCase();
  const core = coreOf(text);
  const expected = new Set([...ours, ...words.flatMap(namesIn)]);
  return [text, core, halfOf(text), halfOf(core)].some(
    (each) => each === '' || common.has(each) || expected.has(each) || isRepeated(each),
  );
}

/** @throws Problem 422 for a password that is tried first */
export function demandUncommon(given: string, words: readonly string[]): void {
  if (!isCommonPassword(given, words)) return;
  const text =
    'This password is one of those that are tried first: a common one, or made of a name of here. Take a sentence.';
  throw new Problem(422, 'common-password', text, { field: 'password' });
}

/** Without what is added to satisfy a rule: digits at either end, signs anywhere. */
function coreOf(text: string): string {
  const letters = [...text].map((sign) => /\p{L}/u.test(sign));
  const first = letters.indexOf(true);
  if (first < 0) return '';
  return [...text]
    .slice(first, letters.lastIndexOf(true) + 1)
    .join('')
    .replaceAll(/[^\p{L}\d]/gu, '');
}

/** Of a text that says the same twice; else the text. */
function halfOf(text: string): string {
  const half = text.slice(0, text.length / 2);
  return half !== '' && half + half === text ? half : text;
}

/** At most four characters, again and again: abcabcabcabc, 121212121212. */
function isRepeated(text: string): boolean {
  return [1, 2, 3, 4].some(
    (size) => text.length > 2 * size && [...text].every((sign, i) => sign === text[i % size]),
  );
}

/** A name and each part of it, as people write them in passwords. */
function namesIn(name: string): string[] {
  const parts = name.toLowerCase().split(/[^\p{L}\d]+/u);
  return [parts.join(''), ...parts].filter((part) => part.length > 2);
}
