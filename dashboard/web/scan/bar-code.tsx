/**
 * Wide and narrow elements of a code's signs, bar and space in turn.
 *
 * @source ISO/IEC 16388 (Code 39): three of nine elements are wide; the patterns are from memory
 */
const patterns: Record<string, string> = {
  '0': 'nnnwwnwnn',
  '1': 'wnnwnnnnw',
  '2': 'nnwwnnnnw',
  '3': 'wnwwnnnnn',
  '4': 'nnnwwnnnw',
  '5': 'wnnwwnnnn',
  '6': 'nnwwwnnnn',
  '7': 'nnnwnnwnw',
  '8': 'wnnwnnwnn',
  '9': 'nnwwnnwnn',
  A: 'wnnnnwnnw',
  B: 'nnwnnwnnw',
  C: 'wnwnnwnnn',
  D: 'nnnnwwnnw',
  E: 'wnnnwwnnn',
  F: 'nnwnwwnnn',
  G: 'nnnnnwwnw',
  H: 'wnnnnwwnn',
  I: 'nnwnnwwnn',
  J: 'nnnnwwwnn',
  K: 'wnnnnnnww',
  L: 'nnwnnnnww',
  M: 'wnwnnnnwn',
  N: 'nnnnwnnww',
  O: 'wnnnwnnwn',
  P: 'nnwnwnnwn',
  Q: 'nnnnnnwww',
  R: 'wnnnnnwwn',
  S: 'nnwnnnwwn',
  T: 'nnnnwnwwn',
  U: 'wwnnnnnnw',
  V: 'nwwnnnnnw',
  W: 'wwwnnnnnn',
  X: 'nwnnwnnnw',
  Y: 'wwnnwnnnn',
  Z: 'nwwnwnnnn',
  '-': 'nwnnnnwnw',
  '.': 'wwnnnnwnn',
  '*': 'nwnnwnwnn',
};

const narrow = 1;
const wide = 2.5;
/** Paper that a scanner needs before and after. */
const quiet = 10;

/** Whether each of its signs has a code. */
export const isCoded = (text: string): boolean =>
  text !== '' && [...text].every((sign) => sign !== '*' && Object.hasOwn(patterns, sign));

/** A code that a scanner reads, with the same in letters below. @throws RangeError on a sign without one */
export function BarCode({ text, heightPx = 80 }: { text: string; heightPx?: number }) {
  const bars: { x: number; width: number }[] = [];
  let x = quiet;
  for (const sign of `*${text}*`) {
    const pattern = patterns[sign];
    if (pattern === undefined) throw new RangeError(`no code for "${sign}" in ${text}`);
    [...pattern].forEach((element, i) => {
      const width = element === 'w' ? wide : narrow;
      if (i % 2 === 0) bars.push({ x, width });
      x += width;
    });
    x += narrow;
  }
  const total = x + quiet;
  return (
    <figure class="bar-code">
      <svg
        role="img"
        aria-label={text}
        viewBox={`0 0 ${total} 10`}
        preserveAspectRatio="none"
        height={heightPx}
      >
        <rect class="code-paper" x="0" y="0" width={total} height="10" />
        {bars.map((bar) => (
          <rect key={bar.x} class="code-ink" x={bar.x} y="0" width={bar.width} height="10" />
        ))}
      </svg>
      <figcaption class="id num">{text}</figcaption>
    </figure>
  );
}
