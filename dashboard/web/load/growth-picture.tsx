import { useMemo } from 'preact/hooks';
import { barPosition } from '@setwell/shared-models/api/cure-bar';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import type { LoadTrace, Window } from '@setwell/shared-models/score/shape';
import { say } from '../language.ts';
import { bound, clockNear, clockUp, measureHigh, measureLow, unitText } from '../phrase.ts';
import { Fan } from './fan.tsx';
import { LineChart, type Series } from './line-chart.tsx';
import { Marks, type PictureProps } from './marks.tsx';
import { growthY, xOf, type Plot } from './plot.ts';

const heightPx = 200;
/** Room above and below, so that a post at the edge is drawn whole. */
const roomPx = 8;
/** What a name beside a mark takes: nearer to the edge it stands left of it. */
const namePx = 130;

/** Places on the bar, not the measure itself: the axis has the bar's kinks. */
function growthSeries(cure: LoadTrace['cure'], window: Window): Series[] {
  const onBar = (values: number[]): number[] => values.map((value) => barPosition(value, window));
  return [
    { values: onBar(cure.low), colour: '--not-yet', widthPx: 4 },
    { values: onBar(cure.high), colour: '--not-yet', widthPx: 0, band: true },
    { values: onBar(cure.nominal), colour: '--ink', widthPx: 2 },
  ];
}

/** The sum, growing into the window: the cure bar set upright, over time. */
export function GrowthPicture({
  trace,
  load,
  plot,
  cursorMs,
  window,
}: PictureProps & { window: Window }) {
  const yOf = growthY(window, roomPx, heightPx - 2 * roomPx);
  const { cure, timesMs } = trace;
  const series = useMemo(() => growthSeries(cure, window), [cure, window]);
  const leastY = yOf(window.least);
  const mostY = window.most === null ? roomPx : yOf(window.most);
  const end = timesMs.length - 1;
  const lowEnd = cure.low[end] ?? 0;
  const so = say('bar.range', {
    low: measureLow(lowEnd, window.least),
    high: measureHigh(cure.high[end] ?? 0, window.least),
  });
  const left = plot.leftPx;
  return (
    <>
      <svg class="under" aria-hidden="true" width={plot.widthPx} height={heightPx}>
        <rect
          class="window"
          x={left}
          y={mostY}
          width={plot.widthPx - left}
          height={leastY - mostY}
        />
      </svg>
      <LineChart
        plot={plot}
        timesMs={timesMs}
        series={series}
        heightPx={heightPx}
        roomPx={roomPx}
        min={0}
        max={1}
        gridAt={[0]}
      />
      <svg
        class="over"
        role="img"
        aria-label={`${say('picture.growth')}: ${so} ${unitText(load.unit, true)}`}
        width={plot.widthPx}
        height={heightPx}
      >
        <Fan plot={plot} load={load} trace={trace} low={cure.low} high={cure.high} yOf={yOf} />
        <Post plot={plot} y={leastY} text={`${bound(window.least)} ${unitText(load.unit)}`} />
        {window.most !== null && (
          <Post plot={plot} y={mostY} text={`${bound(window.most)} ${unitText(load.unit)}`} />
        )}
        <Marks plot={plot} load={load} heightPx={heightPx} cursorMs={cursorMs} />
        <Ahead
          plot={plot}
          load={load}
          fromMs={timesMs[end] ?? plot.fromMs}
          fromY={yOf(lowEnd)}
          leastY={leastY}
        />
      </svg>
    </>
  );
}

/** A post of the window, lying: the least, or the most. */
function Post({ plot, y, text }: { plot: Plot; y: number; text: string }) {
  return (
    <>
      <line class="post-line" x1={plot.leftPx} x2={plot.widthPx} y1={y} y2={y} />
      <text class="num" x={plot.leftPx - 8} y={y + 5} text-anchor="end">
        {text}
      </text>
    </>
  );
}

/** Words right of a mark, or left of it near the edge. */
function Beside({ plot, x, y, text }: { plot: Plot; x: number; y: number; text: string }) {
  const isLeft = x > plot.widthPx - namePx;
  return (
    <text
      class="strong num"
      x={isLeft ? x - 14 : x + 14}
      y={y}
      text-anchor={isLeft ? 'end' : 'start'}
    >
      {text}
    </text>
  );
}

/** What is expected: the way of low to the least, and where the plan ends. */
function Ahead({
  plot,
  load,
  fromMs,
  fromY,
  leastY,
}: {
  plot: Plot;
  load: FloorLoad;
  fromMs: number;
  fromY: number;
  leastY: number;
}) {
  if (load.state !== 'open') return null;
  const provenMs = load.forecast?.provenAtMs ?? null;
  const planMs = load.plannedEndMs;
  const isSeen = (ms: number): boolean => ms > plot.fromMs && ms <= plot.toMs;
  const isAhead = provenMs !== null && provenMs > fromMs && isSeen(provenMs);
  const x = isAhead ? xOf(plot, provenMs) : 0;
  return (
    <>
      {isAhead && (
        <>
          <path class="ahead" d={`M${xOf(plot, fromMs)} ${fromY}L${x} ${leastY}`} />
          <circle class="proof" cx={x} cy={leastY} r="9" />
          <Beside
            plot={plot}
            x={x}
            y={leastY - 14}
            text={say('picture.proven', { clock: clockUp(provenMs, fromMs) })}
          />
        </>
      )}
      {planMs !== null && isSeen(planMs) && (
        <Beside
          plot={plot}
          x={xOf(plot, planMs)}
          y={heightPx - 14}
          text={say('picture.plan', { clock: clockNear(planMs) })}
        />
      )}
    </>
  );
}
