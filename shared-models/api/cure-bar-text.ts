import type { CureInterval, Window } from '../score/shape.ts';

const leftColumns = 20;
const windowColumns = 14;
const beyondColumns = 6;
const openColumns = 20;

/** Column of a value; the posts stand in columns 20 and 35, so the columns beside them are counted apart. */
function columnOf(value: number, { least, most }: Window): number {
  if (value < least) return Math.max(0, Math.floor((value * leftColumns) / least));
  const past = value - least;
  if (most === null) {
    const column = least > 0 ? Math.floor((past * openColumns) / least) : openColumns - 1;
    return leftColumns + 1 + Math.min(openColumns - 1, column);
  }
  const width = most - least;
  if (value <= most) {
    const column = Math.floor((past * windowColumns) / width);
    return leftColumns + 1 + Math.min(windowColumns - 1, column);
  }
  const column = Math.floor(((value - most) * beyondColumns) / width);
  return leftColumns + windowColumns + 2 + Math.min(beyondColumns - 1, column);
}

/**
 * The cure bar in 42 columns of ASCII, for terminals and plain mail:
 * `=` proven up to low, `~` possible up to high, `|` nominal, `[` least, `]` most, `>` no most.
 */
export function cureBarText(cure: CureInterval, window: Window): string {
  const trough =
    window.most === null
      ? `${'.'.repeat(leftColumns)}[${' '.repeat(openColumns)}>`
      : `${'.'.repeat(leftColumns)}[${' '.repeat(windowColumns)}] ${'.'.repeat(beyondColumns - 1)}`;
  const low = columnOf(cure.low, window);
  const nominal = columnOf(cure.nominal, window);
  const high = columnOf(cure.high, window);
  return Array.from(trough, (empty, column) => {
    if (empty === '[' || empty === ']' || empty === '>') return empty;
    if (column === nominal) return '|';
    if (column < low) return '=';
    return column <= high ? '~' : empty;
  }).join('');
}
