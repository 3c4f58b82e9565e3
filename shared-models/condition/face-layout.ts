import type { Station } from '../plant/plant.ts';

/** Where a face lies, as one who stands in front of the press sees it. */
export interface FacePlace {
  point: string;
  /** Column: the zone. */
  zone: string;
  /** From the top, from 0, of so many in its column. */
  row: number;
  rows: number;
}

/** Faces of a station as they lie: zones are columns, platens rows; each face once. */
export function faceLayout({ zones }: Station): FacePlace[] {
  const columns = new Map<string, string[]>();
  for (const { id, upper, lower, air } of zones) {
    const column = columns.get(id) ?? [];
    columns.set(id, column);
    for (const point of [upper, lower, air]) {
      if (point !== null && !column.includes(point)) column.push(point);
    }
  }
  const seen = new Set<string>();
  return [...columns].flatMap(([zone, points]) =>
    points.flatMap((point, row) => {
      // A point that stands for several bays is shown in the first of them.
      if (seen.has(point)) return [];
      seen.add(point);
      return [{ point, zone, row, rows: points.length }];
    }),
  );
}

/** Faces by platen, from the top: the sides that a fault may take whole. */
export function sidesOf(layout: readonly FacePlace[]): string[][] {
  const rows = Math.max(0, ...layout.map(({ row }) => row + 1));
  return Array.from({ length: rows }, (_, at) =>
    layout.filter(({ row }) => row === at).map(({ point }) => point),
  );
}
