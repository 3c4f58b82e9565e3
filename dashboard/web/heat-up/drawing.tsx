import type { ComponentChildren } from 'preact';
import { useWidth } from '../width.ts';

/** Room beside the lines [px]: the upright axis's words stand at the left, time's at the foot. */
const usualLeftPx = 64;
const rightPx = 12;
const footPx = 30;

/** Where the lines of a drawing lie [px], and the way there from shares of its width and height. */
export interface Area {
  leftPx: number;
  topPx: number;
  widthPx: number;
  heightPx: number;
  /** 0 at the left, 1 at the right. */
  x: (share: number) => number;
  /** 0 at the foot, 1 at the top. */
  y: (share: number) => number;
}

interface DrawingProps {
  label: string;
  heightPx: number;
  topPx?: number;
  leftPx?: number;
  children: (area: Area) => ComponentChildren;
}

/** A drawing as wide as there is room. */
export function Drawing(props: DrawingProps) {
  const [ref, widthPx] = useWidth();
  return <div ref={ref}>{widthPx !== null && <Drawn {...props} widthPx={widthPx} />}</div>;
}

function Drawn({
  label,
  heightPx,
  topPx = 8,
  leftPx = usualLeftPx,
  children,
  widthPx,
}: DrawingProps & { widthPx: number }) {
  const area = {
    leftPx,
    topPx,
    widthPx: widthPx - leftPx - rightPx,
    heightPx: heightPx - topPx - footPx,
  };
  return (
    <svg
      viewBox={`0 0 ${widthPx} ${heightPx}`}
      width={widthPx}
      height={heightPx}
      role="img"
      aria-label={label}
    >
      {children({
        ...area,
        x: (share) => area.leftPx + share * area.widthPx,
        y: (share) => area.topPx + (1 - share) * area.heightPx,
      })}
    </svg>
  );
}

/** Lines across, each with what it stands for. */
export function Grid({ area, lines }: { area: Area; lines: { y: number; text: string }[] }) {
  return (
    <>
      {lines.map(({ y, text }) => (
        <g key={text}>
          <line class="grid" x1={area.leftPx} x2={area.leftPx + area.widthPx} y1={y} y2={y} />
          <text class="soft" x={area.leftPx - 8} y={y + 5} text-anchor="end">
            {text}
          </text>
        </g>
      ))}
    </>
  );
}

/** What time it is along the foot, from its left end to its right. */
export function Foot({ area, words }: { area: Area; words: { x: number; text: string }[] }) {
  return (
    <>
      {words.map(({ x, text }, i) => (
        <text
          key={i}
          class="soft"
          x={x}
          y={area.topPx + area.heightPx + footPx - 6}
          text-anchor={i === 0 ? 'start' : i === words.length - 1 ? 'end' : 'middle'}
        >
          {text}
        </text>
      ))}
    </>
  );
}

/** The area between two lines of one length. */
export function bandPath(
  low: readonly number[],
  high: readonly number[],
  x: (i: number) => number,
  y: (value: number) => number,
): string {
  const up = high.map((c, i) => `${i === 0 ? 'M' : 'L'}${x(i).toFixed(1)} ${y(c).toFixed(1)}`);
  const down = low.map((c, i) => `L${x(i).toFixed(1)} ${y(c).toFixed(1)}`).reverse();
  return [...up, ...down, 'Z'].join('');
}

/** A line with its gaps left open. */
export function linePath(
  values: readonly (number | null)[],
  x: (i: number) => number,
  y: (c: number) => number,
): string {
  let pen = 'M';
  return values
    .map((c, i) => {
      if (c === null) return '';
      const part = `${pen}${x(i).toFixed(1)} ${y(c).toFixed(1)}`;
      pen = 'L';
      return part;
    })
    .join('');
}
