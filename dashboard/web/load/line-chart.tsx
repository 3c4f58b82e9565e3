import { useLayoutEffect, useRef } from 'preact/hooks';
import {
  Chart,
  Filler,
  LinearScale,
  LineController,
  LineElement,
  PointElement,
  type ChartConfiguration,
  type ChartDataset,
} from 'chart.js';
import { theme } from '../theme.ts';
import type { Plot } from './plot.ts';

Chart.register(Filler, LinearScale, LineController, LineElement, PointElement);

export interface Series {
  values: (number | null)[];
  /** Custom property of the stylesheet that gives its colour. */
  colour: `--${string}`;
  widthPx: number;
  dash?: number[];
  /** Filled down to the series before it: the pair is a band. */
  band?: boolean;
}

interface LineChartProps {
  plot: Plot;
  timesMs: number[];
  series: Series[];
  heightPx: number;
  /** Room above and below, so that a line on an edge is drawn whole. */
  roomPx: number;
  min: number;
  max: number;
  /** Values with a line across. */
  gridAt: number[];
}

/** Two hexadecimal digits after a colour: a quarter of it. */
const quarter = '40';

function datasetOf(series: Series, timesMs: number[], style: CSSStyleDeclaration): Dataset {
  const colour = style.getPropertyValue(series.colour).trim();
  return {
    data: timesMs.map((x, i) => ({ x, y: series.values[i] ?? null })),
    borderColor: colour,
    borderWidth: series.widthPx,
    borderDash: series.dash ?? [],
    backgroundColor: colour + quarter,
    fill: series.band === true ? '-1' : false,
    pointRadius: 0,
    spanGaps: false,
  } as Dataset;
}

type Dataset = ChartDataset<'line', { x: number; y: number }[]>;

function configurationOf(props: LineChartProps, style: CSSStyleDeclaration): Configuration {
  const { plot, timesMs, series, roomPx, min, max, gridAt } = props;
  return {
    type: 'line',
    data: { datasets: series.map((each) => datasetOf(each, timesMs, style)) },
    options: {
      parsing: false,
      normalized: true,
      animation: false,
      responsive: false,
      maintainAspectRatio: false,
      events: [],
      layout: { autoPadding: false, padding: { top: roomPx, bottom: roomPx } },
      scales: {
        x: { type: 'linear', display: false, min: plot.fromMs, max: plot.toMs },
        y: {
          type: 'linear',
          min,
          max,
          border: { display: false },
          grid: { color: style.getPropertyValue('--rule').trim(), drawTicks: false },
          // The words of the axis stand in the drawing above, where they can be read aloud and found.
          ticks: { display: false },
          afterBuildTicks: (axis) => {
            axis.ticks = gridAt.map((value) => ({ value }));
          },
          afterFit: (axis) => {
            axis.width = plot.leftPx;
          },
        },
      },
    },
  };
}

type Configuration = ChartConfiguration<'line', { x: number; y: number }[]>;

function drawAnew(
  chart: Chart<'line', { x: number; y: number }[]>,
  { data, options }: Configuration,
  { width, height }: { width: number; height: number },
): void {
  chart.data = data;
  if (options !== undefined) chart.options = options;
  const isSized =
    chart.width === width &&
    chart.height === height &&
    chart.currentDevicePixelRatio === devicePixelRatio;
  if (isSized) chart.update('none');
  else chart.resize(width, height);
}

/** Lines and bands on a canvas, on the axis that the drawings over and under it share. */
export function LineChart(props: LineChartProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const chart = useRef<Chart<'line', { x: number; y: number }[]> | null>(null);
  const { plot, timesMs, heightPx } = props;
  const painted = theme.value;
  useLayoutEffect(() => {
    const element = canvas.current;
    if (element === null) return;
    const configuration = configurationOf(props, getComputedStyle(document.documentElement));
    const sizePx = { width: plot.widthPx, height: heightPx };
    // A chart draws itself when it is made, and when its size changes: once is enough.
    if (chart.current === null) {
      Object.assign(element, sizePx);
      chart.current = new Chart(element, configuration);
    } else {
      drawAnew(chart.current, configuration, sizePx);
    }
  }, [plot, timesMs, props.series, heightPx, painted]);
  useLayoutEffect(
    () => () => {
      chart.current?.destroy();
      chart.current = null;
    },
    [],
  );
  return <canvas ref={canvas} class="lines" aria-hidden="true" />;
}
