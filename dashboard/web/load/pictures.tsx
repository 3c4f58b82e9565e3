// Longer than the limit because the three pictures share one clock, one cursor and one set of marks;
// apart they would each carry a copy of them.
import { useEffect, useLayoutEffect, useMemo, useRef, useState } from 'preact/hooks';
import { barPosition } from '@setwell/shared-models/api/cure-bar';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import type { JudgedPlace, LoadTrace, Window } from '@setwell/shared-models/score/shape';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import {
  bound,
  clock,
  clockNear,
  clockS,
  clockUp,
  measure,
  number,
  placeText,
  unitText,
} from '../phrase.ts';
import { useWidth } from '../width.ts';
import { LineChart, type Series } from './line-chart.tsx';
import { gridC, growthY, hue, rangeC, silentTimes, xOf, type Plot } from './plot.ts';

const heatPx = 220;
const sectionPx = 170;
const growthPx = 200;
/** Room above and below the lines of a picture. */
const heatRoomPx = 6;
const growthRoomPx = 8;
const pointsAsked = 600;
/** A picture is asked anew at most this often while its load runs [ms of wall time]. */
const pictureEveryMs = 4_000;
/** Rows of a table beside a picture. */
const tableRows = 24;

type Line = LoadTrace['lines'][number];

/** The line a picture speaks of: the chosen place's where the trace has it, else the one that decides. */
function lineOf(trace: LoadTrace, place: JudgedPlace | null): Line | null {
  const { lines, cure } = trace;
  return (
    lines.find((line) => line.zone === place?.zone && line.glueLine === place.glueLine) ??
    lines.find((line) => line.zone === cure.zone && line.glueLine === cure.glueLine) ??
    lines[0] ??
    null
  );
}

/** Lines that go through all three pictures: now, the plan, the cursor. */
function Marks({
  plot,
  load,
  heightPx,
  cursorMs,
}: {
  plot: Plot;
  load: FloorLoad;
  heightPx: number;
  cursorMs: number;
}) {
  const asOf = load.endMs ?? load.asOfMs;
  const plan = load.plannedEndMs;
  return (
    <>
      {plan !== null && load.state === 'open' && plan < plot.toMs && (
        <line class="plan" x1={xOf(plot, plan)} x2={xOf(plot, plan)} y1="0" y2={heightPx} />
      )}
      <line class="now" x1={xOf(plot, asOf)} x2={xOf(plot, asOf)} y1="0" y2={heightPx} />
      <line class="cursor" x1={xOf(plot, cursorMs)} x2={xOf(plot, cursorMs)} y1="0" y2={heightPx} />
    </>
  );
}

function last(values: (number | null)[]): number | null {
  for (let i = values.length - 1; i >= 0; i -= 1) {
    const value = values[i];
    if (value !== null && value !== undefined && Number.isFinite(value)) return value;
  }
  return null;
}

/** Names at the lines' ends, moved apart so that none covers another. */
function apart(labels: { text: string; y: number; strong: boolean }[], leastPx: number) {
  const sorted = [...labels].sort((a, b) => a.y - b.y);
  sorted.forEach((label, i) => {
    const above = sorted[i - 1];
    if (above !== undefined && label.y - above.y < leastPx) label.y = above.y + leastPx;
  });
  return sorted;
}

/** Measured dashed and dotted, computed solid with its band: told apart without colour. */
function heatSeries(faces: LoadTrace['measuredC'], line: Line | null): Series[] {
  const computed: Series[] =
    line === null
      ? []
      : [
          { values: line.lowC, colour: '--not-yet', widthPx: 0 },
          { values: line.highC, colour: '--not-yet', widthPx: 0, band: true },
          { values: line.nominalC, colour: '--not-yet', widthPx: 4 },
        ];
  const measured = faces.map(({ face, valuesC }): Series => ({
    values: valuesC,
    colour: '--ink',
    widthPx: 2.5,
    dash: face === 'lower' ? [2, 5] : [10, 5],
  }));
  return [...computed, ...measured];
}

/** Places on the bar, not the measure itself: the axis has the bar's kinks. */
function growthSeries(cure: LoadTrace['cure'], window: Window): Series[] {
  const onBar = (values: number[]): number[] => values.map((value) => barPosition(value, window));
  const low = onBar(cure.low);
  return [
    { values: low, colour: '--not-yet', widthPx: 4 },
    { values: onBar(cure.high), colour: '--not-yet', widthPx: 0, band: true },
    { values: onBar(cure.nominal), colour: '--ink', widthPx: 2 },
  ];
}

interface PictureProps {
  trace: LoadTrace;
  line: Line | null;
  load: FloorLoad;
  plot: Plot;
  cursorMs: number;
}

/**
 * Faces as measured (dashed and dotted), the glue line as computed (solid, with its band).
 * Longer than the limit because a drawing is one list of shapes in the order they are painted.
 */
function HeatPicture({ trace, line, load, plot, cursorMs }: PictureProps) {
  const { minC, maxC } = rangeC(trace);
  const yOf = (c: number): number =>
    heatRoomPx + (1 - (c - minC) / (maxC - minC)) * (heatPx - 2 * heatRoomPx);
  const faces = trace.measuredC.filter(({ zone }) => line === null || zone === line.zone);
  const labels = faces.flatMap(({ face, valuesC }) => {
    const c = last(valuesC);
    return c === null
      ? []
      : [{ text: say(`picture.face.${face}`, { c: number(c, 1) }), y: yOf(c), strong: false }];
  });
  const end = line === null ? -1 : line.nominalC.length - 1;
  if (line !== null && end >= 0) {
    const values = {
      low: number(line.lowC[end] ?? 0, 0),
      high: number(line.highC[end] ?? 0, 0),
      line: line.glueLine ?? 0,
    };
    labels.push({
      text: say(line.glueLine === null ? 'picture.coat' : 'picture.line', values),
      y: yOf(line.nominalC[end] ?? 0),
      strong: true,
    });
  }
  const asOfX = xOf(plot, load.endMs ?? load.asOfMs);
  const room = plot.widthPx - asOfX > 250;
  const names = apart(labels, 22);
  const series = useMemo(() => heatSeries(faces, line), [trace, line]);
  return (
    <>
      <LineChart
        plot={plot}
        timesMs={trace.timesMs}
        series={series}
        heightPx={heatPx}
        roomPx={heatRoomPx}
        min={minC}
        max={maxC}
        gridAt={gridC(minC, maxC)}
      />
      <svg
        class="over"
        role="img"
        aria-label={say('picture.heat') + ': ' + names.map(({ text }) => text).join(', ')}
        width={plot.widthPx}
        height={heatPx + (room ? 0 : names.length * 22)}
      >
        {gridC(minC, maxC).map((c) => (
          <text key={c} class="soft num" x={plot.leftPx - 8} y={yOf(c) + 5} text-anchor="end">
            {c}
          </text>
        ))}
        <Marks plot={plot} load={load} heightPx={heatPx} cursorMs={cursorMs} />
        {names.map(({ text, y, strong }, i) => (
          <text
            key={text}
            class={strong ? 'computed-name num' : 'num'}
            x={room ? asOfX + 10 : plot.leftPx}
            y={room ? y + 5 : heatPx + 17 + i * 22}
          >
            {text}
          </text>
        ))}
      </svg>
    </>
  );
}

/**
 * Depth over time in one hue; the glue lines are thin lines, the worst one is pointed at.
 * Longer than the limit because a drawing is one list of shapes in the order they are painted.
 */
function SectionPicture({ trace, line, load, plot, cursorMs }: PictureProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const { section } = trace;
  const { minC, maxC } = rangeC(trace);
  const fromX = xOf(plot, trace.timesMs[0] ?? plot.fromMs);
  const toX = xOf(plot, trace.timesMs[trace.timesMs.length - 1] ?? plot.fromMs);
  useLayoutEffect(() => {
    const element = canvas.current;
    const context = element?.getContext('2d');
    if (!element || !context || section === null) return;
    const rows = section.depthsMm.length;
    element.width = section.tempC.length;
    element.height = rows;
    section.tempC.forEach((column, x) => {
      column.forEach((c, y) => {
        context.fillStyle = hue((c - minC) / (maxC - minC));
        context.fillRect(x, y, 1, 1);
      });
    });
  }, [section, minC, maxC]);
  if (section === null || section.depthsMm.length < 2) return null;
  const depthMm = section.depthsMm[section.depthsMm.length - 1] ?? 1;
  const count = Math.max(0, ...trace.lines.map(({ glueLine }) => glueLine ?? 0));
  const lineY = (n: number): number => (sectionPx * n) / (count + 1);
  const worst = line?.glueLine ?? null;
  const room = plot.widthPx - toX > 170;
  return (
    <div class="plot-section">
      <h2>{say('picture.section')}</h2>
      <div class="plot">
        <canvas
          ref={canvas}
          aria-hidden="true"
          style={{
            left: `${fromX}px`,
            top: '0',
            width: `${toX - fromX}px`,
            height: `${sectionPx}px`,
          }}
        />
        <svg
          role="img"
          aria-label={`${say('picture.section')}, ${number(depthMm, 1)} mm. ${say('picture.scale', { from: minC, to: maxC })}`}
          width={plot.widthPx}
          height={sectionPx}
          style={{ position: 'relative' }}
        >
          {Array.from({ length: count }, (_, i) => (
            <line
              key={i}
              class="line-mark"
              x1={fromX}
              x2={toX}
              y1={lineY(i + 1)}
              y2={lineY(i + 1)}
            />
          ))}
          <rect class="frame" x={fromX} y="0" width={toX - fromX} height={sectionPx} />
          <text class="soft" x={plot.leftPx - 8} y="14" text-anchor="end">
            {say('picture.upper')}
          </text>
          <text class="soft" x={plot.leftPx - 8} y={sectionPx} text-anchor="end">
            {say('picture.lower')}
          </text>
          <Marks plot={plot} load={load} heightPx={sectionPx} cursorMs={cursorMs} />
          {worst !== null && (
            <>
              <path class="pointer" d={`M${toX + 3} ${lineY(worst)}l16 -9v18z`} />
              {room && (
                <text class="strong num" x={toX + 26} y={lineY(worst) + 5}>
                  {say('picture.worst', { line: worst })}
                </text>
              )}
            </>
          )}
        </svg>
      </div>
      <p class="scale num">
        <small>{number(minC, 0)} °C</small>
        <svg class="ramp" aria-hidden="true">
          {Array.from({ length: 16 }, (_, i) => (
            <rect key={i} x={i * 10} y="0" width="10.5" height="16" fill={hue(i / 15)} />
          ))}
        </svg>
        <small>{number(maxC, 0)} °C</small>
      </p>
    </div>
  );
}

/**
 * The sum, growing into the window: the cure bar set upright, over time.
 * Longer than the limit because a drawing is one list of shapes in the order they are painted.
 */
function GrowthPicture({ trace, load, plot, cursorMs, window }: PictureProps & { window: Window }) {
  const yOf = growthY(window, growthRoomPx, growthPx - 2 * growthRoomPx);
  const { cure, timesMs } = trace;
  const series = useMemo(() => growthSeries(cure, window), [cure, window]);
  const leastY = yOf(window.least);
  const mostY = window.most === null ? growthRoomPx : yOf(window.most);
  const end = timesMs.length - 1;
  const endMs = timesMs[end] ?? plot.fromMs;
  const lowEnd = cure.low[end] ?? 0;
  const left = plot.leftPx;
  return (
    <>
      <svg class="under" aria-hidden="true" width={plot.widthPx} height={growthPx}>
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
        heightPx={growthPx}
        roomPx={growthRoomPx}
        min={0}
        max={1}
        gridAt={[0]}
      />
      <svg
        class="over"
        role="img"
        aria-label={`${say('picture.growth')}: ${measure(lowEnd, window.least)}–${measure(cure.high[end] ?? 0, window.least)} ${unitText(load.unit, true)}`}
        width={plot.widthPx}
        height={growthPx}
      >
        <Post plot={plot} y={leastY} text={`${bound(window.least)} ${unitText(load.unit)}`} />
        {window.most !== null && (
          <Post plot={plot} y={mostY} text={`${bound(window.most)} ${unitText(load.unit)}`} />
        )}
        <Marks plot={plot} load={load} heightPx={growthPx} cursorMs={cursorMs} />
        <Ahead plot={plot} load={load} fromMs={endMs} fromY={yOf(lowEnd)} leastY={leastY} />
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
  const isAhead = provenMs !== null && provenMs > fromMs && provenMs <= plot.toMs;
  const x = isAhead ? xOf(plot, provenMs) : 0;
  const planX = planMs === null ? 0 : xOf(plot, planMs);
  const isRight = (at: number): boolean => at > plot.widthPx - 130;
  return (
    <>
      {isAhead && (
        <>
          <path class="ahead" d={`M${xOf(plot, fromMs)} ${fromY}L${x} ${leastY}`} />
          <circle class="proof" cx={x} cy={leastY} r="9" />
          <text
            class="strong num"
            x={isRight(x) ? x - 14 : x + 14}
            y={leastY - 14}
            text-anchor={isRight(x) ? 'end' : 'start'}
          >
            {say('picture.proven', { clock: clockUp(provenMs, fromMs) })}
          </text>
        </>
      )}
      {planMs !== null && planMs < plot.toMs && (
        <text
          class="num"
          x={isRight(planX) ? planX - 8 : planX + 8}
          y={growthPx - 14}
          text-anchor={isRight(planX) ? 'end' : 'start'}
        >
          {say('picture.plan', { clock: clockNear(planMs) })}
        </text>
      )}
    </>
  );
}

/** One band of what was read, with the gaps cut out; and the time axis of all three. */
function DataStrip({ trace, load, plot }: { trace: LoadTrace; load: FloorLoad; plot: Plot }) {
  const from = trace.timesMs[0] ?? plot.fromMs;
  const to = trace.timesMs[trace.timesMs.length - 1] ?? plot.fromMs;
  const silent = silentTimes(trace.gaps, to);
  const seconds = silent.reduce((sum, gap) => sum + (gap.toMs - gap.fromMs) / 1000, 0);
  const text =
    silent.length === 0
      ? say('picture.gaps.none')
      : say(silent.length === 1 ? 'picture.gaps.one' : 'picture.gaps.more', {
          n: silent.length,
          s: Math.round(seconds),
        });
  const asOf = load.endMs ?? load.asOfMs;
  const asOfX = xOf(plot, asOf);
  const nowText = say(load.state === 'open' ? 'picture.now' : 'picture.until', {
    clock: clock(asOf),
  });
  const fits = asOfX - plot.leftPx > 120;
  return (
    <svg role="img" aria-label={`${say('picture.data')}: ${text}`} width={plot.widthPx} height="66">
      <rect
        class="data-strip"
        x={xOf(plot, from)}
        y="6"
        width={xOf(plot, to) - xOf(plot, from)}
        height="12"
      />
      {silent.map((gap) => (
        <rect
          key={gap.fromMs}
          class="gap-mark"
          x={xOf(plot, gap.fromMs)}
          y="4"
          width={Math.max(3, xOf(plot, gap.toMs) - xOf(plot, gap.fromMs))}
          height="16"
        />
      ))}
      <text class="soft num" x={plot.leftPx} y="40">
        {clock(plot.fromMs)}
      </text>
      <text
        class="strong num"
        x={asOfX}
        y={fits ? 40 : 60}
        text-anchor={asOfX > plot.widthPx - 60 ? 'end' : 'middle'}
      >
        {nowText}
      </text>
      <text class="soft num" x={plot.leftPx} y="62">
        {`${say('picture.data')}: ${text}`}
      </text>
    </svg>
  );
}

/** The same points as the pictures, to read or copy. */
function TraceTable({
  trace,
  line,
  load,
}: {
  trace: LoadTrace;
  line: Line | null;
  load: FloorLoad;
}) {
  const every = Math.max(1, Math.ceil(trace.timesMs.length / tableRows));
  const least = load.window?.least ?? 1;
  const picked = trace.timesMs.map((_, i) => i).filter((i) => i % every === 0);
  const faces = trace.measuredC.filter(({ zone }) => line === null || zone === line.zone);
  const name = line === null ? '' : placeText(line, true);
  return (
    <details>
      <summary>{say('load.table')}</summary>
      <div class="table-wide" tabIndex={0} role="region" aria-label={say('load.table')}>
        <table>
          <thead>
            <tr>
              <th>{say('picture.col.time')}</th>
              {faces.map(({ point }) => (
                <th key={point} class="right">
                  {point} °C
                </th>
              ))}
              <th class="right">{name} °C</th>
              <th class="right">{`${unitText(load.unit, true)}, ${say('picture.col.low')}`}</th>
              <th class="right">{say('picture.col.nominal')}</th>
              <th class="right">{say('picture.col.high')}</th>
            </tr>
          </thead>
          <tbody>
            {picked.map((i) => (
              <tr key={i}>
                <td>{clockS(trace.timesMs[i] ?? 0)}</td>
                {faces.map(({ point, valuesC }) => {
                  const c = valuesC[i] ?? null;
                  return (
                    <td key={point} class="right">
                      {c === null ? '–' : number(c, 1)}
                    </td>
                  );
                })}
                <td class="right">
                  {line === null
                    ? '–'
                    : `${number(line.lowC[i] ?? 0, 1)}–${number(line.highC[i] ?? 0, 1)}`}
                </td>
                <td class="right">{measure(trace.cure.low[i] ?? 0, least)}</td>
                <td class="right">{measure(trace.cure.nominal[i] ?? 0, least)}</td>
                <td class="right">{measure(trace.cure.high[i] ?? 0, least)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </details>
  );
}

/** The axis of all three: from the start to what comes last, the plan, the proof or now. */
function plotOf(trace: LoadTrace, load: FloorLoad, widthPx: number): Plot {
  const first = trace.timesMs[0] ?? load.startMs;
  const lastMs = trace.timesMs[trace.timesMs.length - 1] ?? load.asOfMs;
  const fromMs = Math.min(first, load.startMs);
  const ends = [lastMs, load.endMs ?? load.asOfMs];
  if (load.state === 'open') {
    const span = lastMs - fromMs;
    // A proof days ahead would press the past into a line: shown up to twice the time so far.
    for (const ms of [load.plannedEndMs, load.forecast?.provenAtMs ?? null]) {
      if (ms !== null && ms < lastMs + 2 * span) ends.push(ms);
    }
  }
  const toMs = Math.max(...ends);
  const roomMs =
    (toMs - fromMs) * (widthPx > 600 && toMs - lastMs < 0.4 * (toMs - fromMs) ? 0.22 : 0.06);
  return { widthPx, leftPx: 64, fromMs, toMs: toMs + Math.max(1000, roomMs) };
}

function Pictures({
  trace,
  load,
  place,
}: {
  trace: LoadTrace;
  load: FloorLoad;
  place: JudgedPlace | null;
}) {
  const [ref, width] = useWidth();
  const [cursor, setCursor] = useState<number | null>(null);
  const end = trace.timesMs.length - 1;
  const at = cursor === null ? end : Math.min(cursor, end);
  const line = lineOf(trace, place);
  const plot = useMemo(() => plotOf(trace, load, width), [trace, load, width]);
  const cursorMs = trace.timesMs[at] ?? plot.fromMs;
  const props: PictureProps = { trace, line, load, plot, cursorMs };
  const { window } = load;
  const spoken = say('picture.spoken', {
    clock: clockS(cursorMs),
    place: line === null ? '' : placeText(line),
    low: number(line?.lowC[at] ?? 0, 0),
    high: number(line?.highC[at] ?? 0, 0),
    cureLow: measure(trace.cure.low[at] ?? 0, window?.least ?? 1),
    cureHigh: measure(trace.cure.high[at] ?? 0, window?.least ?? 1),
    least: bound(window?.least ?? 0),
    unit: unitText(load.unit, true),
  });
  return (
    <section class="pictures" aria-label={say('picture.label')}>
      <label class="cursor-field">
        <span class="num">{spoken}</span>
        <input
          type="range"
          min="0"
          max={end}
          value={at}
          aria-label={say('picture.cursor')}
          aria-valuetext={spoken}
          onInput={(event) => setCursor(Number(event.currentTarget.value))}
        />
      </label>
      <h2>{say('picture.heat')}</h2>
      <div class="plot" ref={ref}>
        <HeatPicture {...props} />
      </div>
      <SectionPicture {...props} />
      {window !== null && (
        <>
          <h2>{say('picture.growth')}</h2>
          <div class="plot">
            <GrowthPicture {...props} window={window} />
          </div>
        </>
      )}
      <div class="plot">
        <DataStrip trace={trace} load={load} plot={plot} />
      </div>
      <TraceTable trace={trace} line={line} load={load} />
    </section>
  );
}

/** The pictures of a load, asked for apart: sentence and bar do not wait for them. */
export function PicturesOfLoad({ load, place }: { load: FloorLoad; place: JudgedPlace | null }) {
  const [turn, setTurn] = useState(0);
  const running = load.state === 'open';
  useEffect(() => {
    if (!running) return;
    const timer = setInterval(() => setTurn((n) => n + 1), pictureEveryMs);
    return () => clearInterval(timer);
  }, [running]);
  const chosen =
    place === null
      ? ''
      : `&zone=${encodeURIComponent(place.zone)}${place.glueLine === null ? '' : `&glueLine=${place.glueLine}`}`;
  const { value: trace, error } = useAsked<LoadTrace>(
    `/loads/${encodeURIComponent(load.load)}/series?points=${pointsAsked}${chosen}`,
    `${turn} ${load.state}`,
  );
  const [kept, setKept] = useState<LoadTrace | null>(null);
  useEffect(() => {
    if (trace !== null) setKept(trace);
  }, [trace]);
  const shown = trace ?? kept;
  if (shown === null) {
    return <p>{error === null ? '…' : say('picture.failed', { why: error.message })}</p>;
  }
  if (shown.timesMs.length < 2) return <p>{say('picture.none')}</p>;
  return <Pictures trace={shown} load={load} place={place} />;
}
