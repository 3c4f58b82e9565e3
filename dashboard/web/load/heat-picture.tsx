import { useMemo } from 'preact/hooks';
import type { LoadTrace, Seam } from '@setwell/shared-models/score/shape';
import { degrees } from '../degrees.ts';
import { say } from '../language.ts';
import { shownTemperature } from '../phrase.ts';
import { Fan } from './fan.tsx';
import { LineChart, type Series } from './line-chart.tsx';
import { apart, lastOf, Marks, type Line, type PictureProps } from './marks.tsx';
import { gridC, rangeC, xOf } from './plot.ts';

const heightPx = 220;
/** Room above and below the lines. */
const roomPx = 6;
/** What names at the lines' ends take. */
const namesPx = 250;
const nameHeightPx = 22;
/** Names of seams stand above one another from the foot, where no face is; two close together can be read. */
const seamNamePx = 180;
const mostSeamRows = 4;

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
  return [...computed, ...faces.flatMap(boundsOf), ...measured];
}

/** What a face may have been where its readings leave it open; a record of an older model has none. */
function boundsOf({ lowC, highC }: LoadTrace['measuredC'][number]): Series[] {
  if (lowC === undefined || highC === undefined) return [];
  return [
    { values: lowC, colour: '--ink', widthPx: 0 },
    { values: highC, colour: '--ink', widthPx: 0, band: true },
  ];
}

interface Name {
  text: string;
  y: number;
  strong: boolean;
}

/** What each line is, in words at its end. */
function namesOf(
  faces: LoadTrace['measuredC'],
  line: Line | null,
  yOf: (c: number) => number,
): Name[] {
  const names: Name[] = faces.flatMap(({ face, valuesC }) => {
    const c = lastOf(valuesC);
    const text = c === null ? '' : say(`picture.face.${face}`, { c: shownTemperature(c, 1) });
    return c === null ? [] : [{ text, y: yOf(c), strong: false }];
  });
  const end = line === null ? -1 : line.nominalC.length - 1;
  if (line !== null && end >= 0) {
    const values = {
      low: shownTemperature(line.lowC[end] ?? 0, 0),
      high: shownTemperature(line.highC[end] ?? 0, 0),
      line: line.glueLine ?? 0,
    };
    const text = say(line.glueLine === null ? 'picture.coat' : 'picture.line', values);
    names.push({ text, y: yOf(line.nominalC[end] ?? 0), strong: true });
  }
  return apart(names, nameHeightPx);
}

const seamText = ({ point, before, after }: Seam): string =>
  say(before === null ? 'seam.in' : after === null ? 'seam.out' : 'seam.mark', { point });

/** Where an instrument of these faces was changed: a line through the picture, and what it is. */
function SeamMarks({ seams, plot }: Pick<PictureProps, 'seams' | 'plot'>) {
  const shown = seams.filter(({ atMs }) => atMs >= plot.fromMs && atMs <= plot.toMs);
  return (
    <>
      {shown.map((seam, i) => {
        const x = xOf(plot, seam.atMs);
        const isLate = x > plot.widthPx - seamNamePx;
        return (
          <g key={`${seam.point} ${seam.atMs}`} class="seam">
            <line x1={x} x2={x} y1="0" y2={heightPx} />
            <text
              x={isLate ? x - 6 : x + 6}
              y={heightPx - 10 - (i % mostSeamRows) * nameHeightPx}
              text-anchor={isLate ? 'end' : 'start'}
            >
              {seamText(seam)}
            </text>
          </g>
        );
      })}
    </>
  );
}

/** Faces as measured (dashed and dotted), the glue line as computed (solid, with its band). */
export function HeatPicture({ trace, line, load, plot, cursorMs, seams }: PictureProps) {
  const { minC, maxC } = rangeC(trace);
  const yOf = (c: number): number =>
    roomPx + (1 - (c - minC) / (maxC - minC)) * (heightPx - 2 * roomPx);
  const faces = trace.measuredC.filter(({ zone }) => line === null || zone === line.zone);
  const own = seams.filter(({ point }) => faces.some((face) => face.point === point));
  const series = useMemo(() => heatSeries(faces, line), [trace, line]);
  const names = namesOf(faces, line, yOf);
  const endX = Math.min(plot.widthPx, xOf(plot, load.endMs ?? load.asOfMs));
  const fits = plot.widthPx - endX > namesPx;
  const grid = gridC(minC, maxC);
  return (
    <>
      <LineChart
        plot={plot}
        timesMs={trace.timesMs}
        series={series}
        heightPx={heightPx}
        roomPx={roomPx}
        min={minC}
        max={maxC}
        gridAt={grid}
      />
      <svg
        class="over"
        role="img"
        aria-label={`${say('picture.heat', { degrees: degrees.value })}: ${[...names.map(({ text }) => text), ...own.map(seamText)].join(', ')}`}
        width={plot.widthPx}
        height={heightPx + (fits ? 0 : names.length * nameHeightPx)}
      >
        {line !== null && (
          <Fan plot={plot} load={load} trace={trace} low={line.lowC} high={line.highC} yOf={yOf} />
        )}
        {grid.map((c) => (
          <text key={c} class="soft num" x={plot.leftPx - 8} y={yOf(c) + 5} text-anchor="end">
            {shownTemperature(c, 0)}
          </text>
        ))}
        <SeamMarks seams={own} plot={plot} />
        <Marks plot={plot} load={load} heightPx={heightPx} cursorMs={cursorMs} />
        {names.map(({ text, y, strong }, i) => (
          <text
            key={text}
            class={strong ? 'computed-name num' : 'num'}
            x={fits ? endX + 10 : plot.leftPx}
            y={fits ? y + 5 : heightPx + 17 + i * nameHeightPx}
          >
            {text}
          </text>
        ))}
      </svg>
    </>
  );
}
