import { useLayoutEffect, useRef } from 'preact/hooks';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import { degrees } from '../degrees.ts';
import { say } from '../language.ts';
import { number, shownTemperature, temperatureText } from '../phrase.ts';
import { Marks, type PictureProps } from './marks.tsx';
import { hue, rangeC, xOf } from './plot.ts';

const heightPx = 170;
/** What the words beside the pointer take. */
const pointedPx = 170;

type Section = NonNullable<LoadTrace['section']>;

const shades = 256;
let palette: Uint32Array | null = null;

/** The shades of `hue` as pixels, from light to dark: a colour read from its words takes as long as a thousand pixels. */
function shadesOfHue(): Uint32Array {
  if (palette !== null) return palette;
  const context = new OffscreenCanvas(shades, 1).getContext('2d', { willReadFrequently: true });
  if (context === null) return new Uint32Array(shades);
  for (let i = 0; i < shades; i += 1) {
    context.fillStyle = hue(i / (shades - 1));
    context.fillRect(i, 0, 1, 1);
  }
  palette = new Uint32Array(context.getImageData(0, 0, shades, 1).data.buffer);
  return palette;
}

/** Paints depth over time, one pixel a time and depth; the browser stretches it. */
function paint(canvas: HTMLCanvasElement | null, section: Section, minC: number, maxC: number) {
  const context = canvas?.getContext('2d');
  if (!canvas || !context) return;
  const [width, height] = [section.tempC.length, section.depthsMm.length];
  Object.assign(canvas, { width, height });
  const image = context.createImageData(width, height);
  const pixels = new Uint32Array(image.data.buffer);
  const ofHue = shadesOfHue();
  section.tempC.forEach((column, x) => {
    column.forEach((c, y) => {
      const share = Math.max(0, Math.min(1, (c - minC) / (maxC - minC)));
      pixels[y * width + x] = ofHue[Math.round(share * (shades - 1))] ?? 0;
    });
  });
  context.putImageData(image, 0, 0);
}

function Scale({ minC, maxC }: { minC: number; maxC: number }) {
  return (
    <p class="scale num">
      <small>{temperatureText(minC, 0)}</small>
      <svg class="ramp" aria-hidden="true">
        {Array.from({ length: 16 }, (_, i) => (
          <rect key={i} x={i * 10} y="0" width="10.5" height="16" fill={hue(i / 15)} />
        ))}
      </svg>
      <small>{temperatureText(maxC, 0)}</small>
    </p>
  );
}

/**
 * Depth over time in one hue; the glue lines are thin lines, the one looked at is pointed at.
 * Longer than the limit because a drawing is one list of shapes in the order they are painted.
 */
export function SectionPicture({ trace, line, load, plot, cursorMs }: PictureProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const { section, timesMs } = trace;
  const { minC, maxC } = rangeC(trace);
  const fromX = xOf(plot, timesMs[0] ?? plot.fromMs);
  const toX = xOf(plot, timesMs[timesMs.length - 1] ?? plot.fromMs);
  useLayoutEffect(() => {
    if (section !== null) paint(canvas.current, section, minC, maxC);
  }, [section, minC, maxC]);
  if (section === null || section.depthsMm.length < 2) return null;
  const depthMm = section.depthsMm[section.depthsMm.length - 1] ?? 1;
  const count = Math.max(0, ...trace.lines.map(({ glueLine }) => glueLine ?? 0));
  const lineY = (n: number): number => (heightPx * n) / (count + 1);
  const pointed = line?.glueLine ?? null;
  const isWorst = pointed === load.worst?.glueLine && line?.zone === load.worst?.zone;
  const endX = Math.min(toX, plot.widthPx - 20);
  const fits = plot.widthPx - endX > pointedPx;
  const scale = say('picture.scale', {
    from: shownTemperature(minC, 0),
    to: shownTemperature(maxC, 0),
    degrees: degrees.value,
  });
  return (
    <div class="plot-section">
      <div class="plot">
        <canvas
          ref={canvas}
          aria-hidden="true"
          style={{
            left: `${fromX}px`,
            top: '0',
            width: `${toX - fromX}px`,
            height: `${heightPx}px`,
          }}
        />
        <svg
          class="over"
          role="img"
          aria-label={`${say('picture.section', { degrees: degrees.value })}, ${number(depthMm, 1)} mm. ${scale}`}
          width={plot.widthPx}
          height={heightPx}
        >
          {Array.from({ length: count }, (_, i) => {
            const y = lineY(i + 1);
            return <line key={i} class="line-mark" x1={fromX} x2={toX} y1={y} y2={y} />;
          })}
          <rect class="frame" x={fromX} y="0" width={toX - fromX} height={heightPx} />
          <text class="soft" x={plot.leftPx - 8} y="14" text-anchor="end">
            {say('picture.upper')}
          </text>
          <text class="soft" x={plot.leftPx - 8} y={heightPx - 4} text-anchor="end">
            {say('picture.lower')}
          </text>
          <Marks plot={plot} load={load} heightPx={heightPx} cursorMs={cursorMs} />
          {pointed !== null && (
            <>
              <path class="pointer" d={`M${endX + 3} ${lineY(pointed)}l16 -9v18z`} />
              {fits && (
                <text class="strong num" x={endX + 26} y={lineY(pointed) + 5}>
                  {say(isWorst ? 'picture.worst' : 'picture.pointed', { line: pointed })}
                </text>
              )}
            </>
          )}
        </svg>
      </div>
      <Scale minC={minC} maxC={maxC} />
    </div>
  );
}
