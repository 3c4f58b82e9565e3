import { loneSurrogate } from './canonical.ts';

const loneSurrogates = new RegExp(loneSurrogate, 'g');

/** Whether a text is one that the record can hold: it has no half of a surrogate pair. */
export function isWellFormed(text: string): boolean {
  return !loneSurrogate.test(text);
}

/** The text with U+FFFD for each half of a surrogate pair. */
export function wellFormed(text: string): string {
  return text.replaceAll(loneSurrogates, '\uFFFD');
}

/** The beginning of a text [UTF-16 code units], well formed wherever it is cut. */
export function cutText(text: string, most: number): string {
  return wellFormed(text.slice(0, most));
}
