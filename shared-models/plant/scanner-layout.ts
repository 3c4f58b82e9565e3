/**
 * A scanner types as a keyboard does: keys, not letters. Where it is set to the American layout and the
 * computer to another, other letters come out, and `K-118` reads `Kß118`.
 */
export type ScannerLayout = 'us' | 'de' | 'da' | 'es' | 'it' | 'tr' | 'fr' | 'pl';

/** What a computer writes for an American key, where that differs; a pair is `from` `to`. */
type Pairs = readonly string[];

const frenchDigits: Pairs = ['1&', '2é', '3"', "4'", '5(', '6-', '7è', '8_', '9ç', '0à'];

/**
 * The keys that lot numbers and codes are made of. Letters are given small; capitals follow where both
 * have one.
 *
 * @source the rows for `-` and `.` and the French digits were tried on keyboards of these layouts; the
 *   other punctuation is from memory
 */
const differences: Record<ScannerLayout, Pairs> = {
  us: [],
  de: ['-ß', 'yz', 'zy', '/-', '_?', ';ö', "'ä"],
  da: ['-+', '/-', '_?', ';æ', "'ø"],
  es: ["-'", '/-', '_?', ';ñ'],
  it: ["-'", '/-', '_?', ';ò', "'à"],
  tr: ['-*', '.ç', 'iı', '/.', '_?', ',ö', ';ş'],
  fr: [...frenchDigits, '-)', 'aq', 'qa', 'wz', 'zw', 'm,', 'M?', '.:', '/!', ',;', ';m', '_°'],
  pl: [],
};

/** Layouts in the order in which they are tried. */
export const scannerLayouts = Object.keys(differences) as ScannerLayout[];

const typedBy = new Map<ScannerLayout, Map<string, string>>();

function tableOf(layout: ScannerLayout): Map<string, string> {
  const known = typedBy.get(layout);
  if (known !== undefined) return known;
  const table = new Map<string, string>();
  for (const pair of differences[layout]) {
    const [from = '', to = ''] = pair;
    if (!table.has(from)) table.set(from, to);
    const capital = from.toUpperCase();
    if (isLetter(from) && isLetter(to) && !table.has(capital)) {
      table.set(capital, to === 'ı' ? 'I' : to.toUpperCase());
    }
  }
  typedBy.set(layout, table);
  return table;
}

const isLetter = (text: string): boolean => text.toLowerCase() !== text.toUpperCase();

/** What a computer of that layout writes when an American scanner reads a text. */
export function asTyped(printed: string, layout: ScannerLayout): string {
  const table = tableOf(layout);
  return [...printed].map((each) => table.get(each) ?? each).join('');
}

/** What was printed, where a computer of that layout has written this; null where it cannot have. */
export function asPrinted(typed: string, layout: ScannerLayout): string | null {
  const table = tableOf(layout);
  const back = new Map([...table].map(([from, to]) => [to, from]));
  let printed = '';
  for (const each of typed) {
    const from = back.get(each);
    if (from === undefined && table.has(each)) return null;
    printed += from ?? each;
  }
  return printed;
}

export interface ReadScan {
  text: string;
  layout: ScannerLayout;
}

/**
 * What a scan says: itself where it is known; else what exactly one known text would have become. Null
 * where none fits, or more than one: a guess between two lots is worse than none.
 */
export function readScan(
  typed: string,
  isKnown: (text: string) => boolean,
  layouts: readonly ScannerLayout[] = scannerLayouts,
): ReadScan | null {
  if (isKnown(typed)) return { text: typed, layout: 'us' };
  const fits = new Map<string, ScannerLayout>();
  for (const layout of layouts) {
    const text = asPrinted(typed, layout);
    if (text !== null && !fits.has(text) && isKnown(text)) fits.set(text, layout);
  }
  const [only] = fits;
  return fits.size === 1 && only !== undefined ? { text: only[0], layout: only[1] } : null;
}

/** The layouts that make `typed` of what was printed: the scanner check names them. */
export function layoutsThatType(printed: string, typed: string): ScannerLayout[] {
  return scannerLayouts.filter((layout) => asTyped(printed, layout) === typed);
}
