import { barPosition } from '@setwell/shared-models/api/cure-bar';
import { zoneOfPlace } from '@setwell/shared-models/score/scored-station';
import type { LoadTrace, Window } from '@setwell/shared-models/score/shape';
import { ink, keepTogether, line, page, soft, type Pdf } from './pdf-page.ts';
import { inWords, type RecordWords } from './record-words.ts';

const plot = { left: page.left + 34, right: page.right - 78 };
const plotWidth = plot.right - plot.left;
/** Columns and rows of the section: more than the eye tells apart at this size would only be bytes. */
const most = { columns: 80, rows: 26 };

const labelHeight = 9;

interface Frame {
  y: number;
  height: number;
  x(timeMs: number): number;
}

/** Where an instrument was changed in mid-load, and what that is called on paper. */
export interface ChangeMark {
  atMs: number;
  text: string;
}

export interface LoadPictures {
  trace: LoadTrace;
  window: Window;
  unit: string;
  changes: readonly ChangeMark[];
  words: RecordWords;
}

/** Faces and worst line, section of depth over time, growth of the sum: three pictures on one clock. */
export function drawCharts(pdf: Pdf, { trace, window, unit, changes, words }: LoadPictures): void {
  const [startMs = 0] = trace.timesMs;
  const endMs = trace.timesMs.at(-1) ?? startMs;
  if (endMs <= startMs) return;
  const sectionRoom = trace.section ? 78 : 0;
  keepTogether(pdf, 252 + sectionRoom);
  const x = (timeMs: number) => plot.left + (plotWidth * (timeMs - startMs)) / (endMs - startMs);
  const top = pdf.y + 8;
  const { chart } = words;
  drawTemperatures(pdf, trace, { y: top, height: 120, x }, chart);
  drawChanges(pdf, changes, { y: top, height: 120, x });
  if (trace.section) drawSection(pdf, trace.section, { y: top + 134, height: 64, x }, words);
  const growth = top + 134 + sectionRoom;
  const posts = [
    [window.least, chart.least],
    [window.most, chart.most],
  ] as const;
  const named = posts.map(([value, name]) => ({
    value,
    name: `${name} ${inWords(String(value), words)} ${unit}`,
  }));
  drawGrowth(pdf, trace, window, named, { y: growth, height: 84, x });
  drawMinutes(pdf, startMs, endMs, growth + 88, x);
  pdf.y = growth + 110;
  pdf.x = page.left;
}

function drawTemperatures(
  pdf: Pdf,
  trace: LoadTrace,
  frame: Frame,
  words: RecordWords['chart'],
): void {
  const line_ = trace.lines.find(
    ({ zone, glueLine }) => zone === trace.cure.zone && glueLine === trace.cure.glueLine,
  );
  const values = [
    ...trace.measuredC.flatMap(({ valuesC }) => valuesC.filter((c) => c !== null)),
    ...(line_ ? [...line_.lowC, ...line_.highC] : []),
  ];
  const least = Math.floor(Math.min(...values) / 20) * 20;
  const greatest = Math.ceil(Math.max(...values) / 20) * 20;
  const y = (c: number) => frame.y + frame.height * (1 - (c - least) / (greatest - least || 1));
  const labels: { text: string; y: number }[] = [];
  box(pdf, frame);
  const step = greatest - least > 120 ? 40 : 20;
  for (let c = least; c <= greatest; c += step) tick(pdf, `${String(c)} °C`, y(c));
  if (line_) {
    band(pdf, trace.timesMs, line_.lowC.map(y), line_.highC.map(y), frame.x);
    curve(pdf, trace.timesMs, line_.nominalC.map(y), frame.x, 1.2);
    const name = line_.glueLine === null ? line_.zone : words.line(line_.glueLine);
    labels.push({ text: name, y: y(line_.nominalC.at(-1) ?? least) });
  }
  for (const [index, { point, zone, face, valuesC }] of trace.measuredC.entries()) {
    if (zoneOfPlace(zone) !== zoneOfPlace(trace.cure.zone)) continue;
    pdf.save().dash(index % 2 === 0 ? 4 : 1.5, { space: 2 });
    const ys = valuesC.map((c) => (c === null ? null : y(c)));
    curve(pdf, trace.timesMs, ys, frame.x, 0.8);
    pdf.restore();
    const last = valuesC.filter((c) => c !== null).at(-1);
    if (last !== undefined) labels.push({ text: `${point} ${words.face[face]}`, y: y(last) });
  }
  let free = frame.y;
  for (const label of labels.sort((a, b) => a.y - b.y)) {
    free = Math.max(label.y, free + labelHeight);
    direct(pdf, label.text, free);
  }
}

function drawChanges(pdf: Pdf, changes: readonly ChangeMark[], { y, height, x }: Frame): void {
  for (const [index, { atMs, text }] of changes.entries()) {
    const at = x(atMs);
    if (at < plot.left || at > plot.right) continue;
    pdf.save().dash(6, { space: 2 }).lineWidth(0.8).strokeColor(ink);
    pdf
      .moveTo(at, y)
      .lineTo(at, y + height)
      .stroke()
      .restore();
    const width = pdf.fontSize(7).widthOfString(text);
    const left = at + 2 + width > plot.right ? at - 2 - width : at + 2;
    pdf
      .fillColor(ink)
      .text(text, left, y + 2 + (index % 4) * labelHeight, { lineBreak: false })
      .fontSize(10);
  }
}

function drawSection(
  pdf: Pdf,
  section: NonNullable<LoadTrace['section']>,
  frame: Frame,
  words: RecordWords,
): void {
  const { chart } = words;
  const all = section.tempC.flat();
  const least = Math.min(...all);
  const greatest = Math.max(...all);
  const columns = Math.min(most.columns, section.tempC.length);
  const rows = Math.min(most.rows, section.depthsMm.length);
  const cell = { width: plotWidth / columns, height: frame.height / rows };
  const shadeAt = (column: number, row: number) => {
    const time = Math.floor((column * section.tempC.length) / columns);
    const depth = Math.floor((row * section.depthsMm.length) / rows);
    const c = section.tempC[time]?.[depth] ?? least;
    return Math.round(245 - (185 * (c - least)) / (greatest - least || 1));
  };
  for (let row = 0; row < rows; row += 1) {
    const y = frame.y + row * cell.height;
    for (let from = 0, to = 0; from < columns; from = to) {
      const shade = shadeAt(from, row);
      while (to < columns && shadeAt(to, row) === shade) to += 1;
      const width = (to - from) * cell.width + 0.3;
      pdf.rect(plot.left + from * cell.width, y, width, cell.height + 0.3);
      pdf.fill([shade, shade, shade]);
    }
  }
  pdf.fillColor(ink);
  box(pdf, frame);
  tick(pdf, chart.face.upper, frame.y + 4);
  tick(
    pdf,
    `${inWords(String(section.depthsMm.at(-1) ?? 0), words)} mm`,
    frame.y + frame.height - 4,
  );
  direct(pdf, chart.pale(least.toFixed(0)), frame.y + 10);
  direct(pdf, chart.dark(greatest.toFixed(0)), frame.y + 22);
  direct(pdf, chart.zone(section.zone), frame.y + 34);
  pdf.fontSize(10);
}

function drawGrowth(
  pdf: Pdf,
  trace: LoadTrace,
  window: Window,
  posts: readonly { value: number | null; name: string }[],
  frame: Frame,
): void {
  const { low, nominal, high } = trace.cure;
  const y = (value: number) => frame.y + frame.height * (1 - barPosition(value, window));
  box(pdf, frame);
  band(pdf, trace.timesMs, low.map(y), high.map(y), frame.x);
  curve(pdf, trace.timesMs, nominal.map(y), frame.x, 1.2);
  for (const { value, name } of posts) {
    if (value === null) continue;
    pdf.lineWidth(1.5).strokeColor(ink).moveTo(plot.left, y(value)).lineTo(plot.right, y(value));
    pdf.stroke();
    direct(pdf, name, y(value));
  }
  tick(pdf, '0', frame.y + frame.height);
}

function drawMinutes(
  pdf: Pdf,
  startMs: number,
  endMs: number,
  y: number,
  x: (timeMs: number) => number,
): void {
  const minutes = (endMs - startMs) / 60_000;
  const step = [1, 2, 5, 10, 20, 60, 120, 360, 1440, 2880].find((each) => minutes / each <= 12);
  pdf.fontSize(7).fillColor(soft);
  for (let at = 0; at <= minutes; at += step ?? minutes) {
    const here = x(startMs + at * 60_000);
    pdf.text(`${String(at)} min`, here - 20, y, { width: 40, align: 'center', lineBreak: false });
  }
  pdf.fontSize(10).fillColor(ink);
}

function box(pdf: Pdf, { y, height }: Frame): void {
  pdf.lineWidth(0.5).strokeColor(line).rect(plot.left, y, plotWidth, height).stroke();
}

function tick(pdf: Pdf, text: string, y: number): void {
  pdf.fontSize(7).fillColor(soft);
  pdf.text(text, page.left - 4, y - 4, { width: 34, align: 'right', lineBreak: false });
  pdf.fontSize(10).fillColor(ink);
}

/** Named where it ends, not in a legend. */
function direct(pdf: Pdf, text: string, y: number): void {
  pdf
    .fontSize(7)
    .fillColor(soft)
    .text(text, plot.right + 4, y - 4, { lineBreak: false });
  pdf.fontSize(10).fillColor(ink);
}

function curve(
  pdf: Pdf,
  timesMs: number[],
  ys: (number | null)[],
  x: (timeMs: number) => number,
  width: number,
): void {
  pdf.lineWidth(width).strokeColor(ink);
  let drawing = false;
  for (const [index, timeMs] of timesMs.entries()) {
    const y = ys[index] ?? null;
    if (y === null) drawing = false;
    else if (drawing) pdf.lineTo(x(timeMs), y);
    else {
      pdf.moveTo(x(timeMs), y);
      drawing = true;
    }
  }
  pdf.stroke();
}

function band(
  pdf: Pdf,
  timesMs: number[],
  low: number[],
  high: number[],
  x: (timeMs: number) => number,
): void {
  const there = timesMs.map((timeMs, index) => [x(timeMs), low[index] ?? 0] as const);
  const back = timesMs.map((timeMs, index) => [x(timeMs), high[index] ?? 0] as const).reverse();
  const [start, ...rest] = [...there, ...back];
  if (!start) return;
  pdf.moveTo(...start);
  for (const point of rest) pdf.lineTo(...point);
  pdf.closePath().fill('#cccccc').fillColor(ink);
}
