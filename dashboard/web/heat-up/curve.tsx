import type { FaceHistory } from '@setwell/shared-models/api/heat-up';
import { gridC } from '../load/plot.ts';
import { celsiusOf, shownDegrees } from '../degrees.ts';
import { say } from '../language.ts';
import { clock, number, temperatureText } from '../phrase.ts';
import { useWidth } from '../width.ts';

const heightPx = 300;
const leftPx = 64;
const rightPx = 12;
const footPx = 30;

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

/** The newest heat-up of one face, over where those of like start lay. */
export function Curve({ history, face }: { history: FaceHistory; face: string }) {
  // Longer than the limit because it is one drawing: scales, then every line of it in order.
  const [ref, widthPx] = useWidth();
  const { newest, usual, readyC } = history;
  const curveC = newest?.curveC ?? [];
  const shown = [...curveC, ...(usual?.lowC ?? []), ...(usual?.highC ?? [])].filter(
    (c) => c !== null,
  );
  const minutes = Math.max(10, curveC.length - 1, (usual?.lowC.length ?? 1) - 1);
  const minC = Math.min(...shown, readyC ?? 20) - 4;
  const maxC = Math.max(...shown, readyC ?? 20) + 4;
  const x = (minute: number) => leftPx + (minute / minutes) * (widthPx - leftPx - rightPx);
  const y = (c: number) => 8 + (1 - (c - minC) / (maxC - minC)) * (heightPx - footPx - 8);
  const grid = gridC(shownDegrees(minC), shownDegrees(maxC));
  const startMs = newest?.startMs ?? 0;
  const ticks = [0, 0.25, 0.5, 0.75, 1].map((share) => Math.round(share * minutes));
  const ready = curveC.findIndex((c) => c !== null && readyC !== null && c >= readyC);
  const last = curveC.length - 1;
  const heading =
    usual === null
      ? say('heat.curve.few', { face })
      : say('heat.curve', {
          face,
          n: usual.heatUps,
          low: number(shownDegrees(usual.startLowC), 0),
          high: temperatureText(usual.startHighC, 0),
        });
  return (
    <section class="section">
      <h2>{heading}</h2>
      <div ref={ref}>
        <svg
          viewBox={`0 0 ${widthPx} ${heightPx}`}
          width={widthPx}
          height={heightPx}
          role="img"
          aria-label={say('heat.curve.alt', {
            face,
            minutes: ready < 0 ? '–' : say('heat.min', { min: ready }),
            n: usual?.heatUps ?? 0,
          })}
        >
          {grid.map((shownC) => (
            <g key={shownC}>
              <line
                class="grid"
                x1={leftPx}
                x2={widthPx}
                y1={y(celsiusOf(shownC))}
                y2={y(celsiusOf(shownC))}
              />
              <text class="soft" x={leftPx - 8} y={y(celsiusOf(shownC)) + 5} text-anchor="end">
                {number(shownC, 0)}
              </text>
            </g>
          ))}
          {usual !== null && <path class="usual" d={bandPath(usual.lowC, usual.highC, x, y)} />}
          {readyC !== null && (
            <line class="ready" x1={leftPx} x2={widthPx} y1={y(readyC)} y2={y(readyC)} />
          )}
          <path class="today" d={linePath(curveC, x, y)} />
          {usual !== null && (
            <text class="soft" x={x(minutes * 0.45)} y={y(minC + (maxC - minC) * 0.32)}>
              {say('heat.curve.usual')}
            </text>
          )}
          {last > 0 && (
            <text class="strong" x={x(minutes * 0.45)} y={y(minC + (maxC - minC) * 0.2)}>
              ━ {say('heat.curve.today')}
            </text>
          )}
          {newest !== null &&
            ticks.map((minute, i) => (
              <text
                key={minute}
                class="soft"
                x={x(minute)}
                y={heightPx - 6}
                text-anchor={i === 0 ? 'start' : i === ticks.length - 1 ? 'end' : 'middle'}
              >
                {clock(startMs + minute * 60_000)}
              </text>
            ))}
        </svg>
      </div>
    </section>
  );
}
