import type { FloorLoad } from '@setwell/shared-models/api/floor';
import type { JudgedPlace, LoadTrace, Seam } from '@setwell/shared-models/score/shape';
import { xOf, type Plot } from './plot.ts';

export type Line = LoadTrace['lines'][number];

/** What each of the three pictures is drawn from. */
export interface PictureProps {
  trace: LoadTrace;
  /** The glue line, coat or part it speaks of. */
  line: Line | null;
  load: FloorLoad;
  plot: Plot;
  cursorMs: number;
  /** Where an instrument was changed. */
  seams: readonly Seam[];
}

/** The line a picture speaks of: the chosen place's where the trace has it, else the one that decides. */
export function lineOf(trace: LoadTrace, place: JudgedPlace | null): Line | null {
  const { lines, cure } = trace;
  return (
    lines.find((line) => line.zone === place?.zone && line.glueLine === place.glueLine) ??
    lines.find((line) => line.zone === cure.zone && line.glueLine === cure.glueLine) ??
    lines[0] ??
    null
  );
}

/** Lines that go through all three pictures: now, the plan, the cursor. */
export function Marks({
  plot,
  load,
  heightPx,
  cursorMs,
}: Pick<PictureProps, 'plot' | 'load' | 'cursorMs'> & { heightPx: number }) {
  const plan = load.state === 'open' ? load.plannedEndMs : null;
  const shown: { name: string; ms: number | null }[] = [
    { name: 'plan', ms: plan },
    { name: 'now', ms: load.endMs ?? load.asOfMs },
    { name: 'cursor', ms: cursorMs },
  ];
  return (
    <>
      {shown.map(({ name, ms }) => {
        if (ms === null || ms < plot.fromMs || ms > plot.toMs) return null;
        const x = xOf(plot, ms);
        return <line key={name} class={name} x1={x} x2={x} y1="0" y2={heightPx} />;
      })}
    </>
  );
}

/** Names at the lines' ends, moved apart so that none covers another. */
export function apart<Label extends { y: number }>(labels: Label[], leastPx: number): Label[] {
  const sorted = [...labels].sort((a, b) => a.y - b.y);
  sorted.forEach((label, i) => {
    const above = sorted[i - 1];
    if (above !== undefined && label.y - above.y < leastPx) label.y = above.y + leastPx;
  });
  return sorted;
}

/** The last finite value of a course; null where there is none. */
export function lastOf(values: (number | null)[]): number | null {
  for (let i = values.length - 1; i >= 0; i -= 1) {
    const value = values[i];
    if (value !== null && value !== undefined && Number.isFinite(value)) return value;
  }
  return null;
}
