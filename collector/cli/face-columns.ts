import type { ColumnRule } from '../number-table.ts';

/** Platens stay far below 400 °C; a column that passes it and fits as °F is refused as °F. */
export const celsiusColumn = { least: -273.15, usualC: [-60, 400] } as const;

/** What the two faces of a piece read, row by row. */
export const faceColumns: ColumnRule[] = [
  { name: 'time_s', order: 'rising' },
  { name: 'upper_c', ...celsiusColumn },
  { name: 'lower_c', ...celsiusColumn },
];
