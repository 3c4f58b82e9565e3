import type { LoadDetail } from '@setwell/shared-models/api/dashboard';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import { degrees } from '../degrees.ts';
import { say } from '../language.ts';
import { number, placeText, shownTemperature } from '../phrase.ts';
import { hue, rangeC } from './plot.ts';

/** The drawing's own units: thousandths of its width and height. */
const size = 1000;
const shownDepths = 64;

/** The worst line with its temperatures now, in words. */
function worstText(trace: LoadTrace, detail: LoadDetail): string {
  const { worst } = detail.load;
  if (worst === null) return '';
  const line = trace.lines.find(
    ({ zone, glueLine }) => zone === worst.zone && glueLine === worst.glueLine,
  );
  const end = trace.timesMs.length - 1;
  if (line === undefined || end < 0) return placeText(worst);
  return say('picture.cutAt', {
    place: placeText(worst),
    low: shownTemperature(line.lowC[end] ?? 0, 0),
    high: shownTemperature(line.highC[end] ?? 0, 0),
    degrees: degrees.value,
  });
}

/**
 * A cut through the lay-up as it lies, true in thickness: warm layers dark, glue lines thin, and the one
 * that decides marked from both sides. Read at three metres: no axis, one name.
 */
export function LayupCut({ trace, detail }: { trace: LoadTrace; detail: LoadDetail }) {
  const { section, timesMs } = trace;
  const { worst } = detail.load;
  if (section === null || section.depthsMm.length < 2 || worst === null) return null;
  const { minC, maxC } = rangeC(trace);
  const depths = section.depthsMm;
  const depthMm = depths[depths.length - 1] ?? 1;
  const now = section.tempC[timesMs.length - 1] ?? [];
  const yOf = (mm: number): number => (mm / depthMm) * size;
  const stripPx = size / shownDepths;
  const strips = Array.from({ length: shownDepths }, (_, i) => {
    const mm = ((i + 0.5) / shownDepths) * depthMm;
    const at = depths.findIndex((each) => each >= mm);
    return now[Math.max(0, at)] ?? minC;
  });
  const lines = detail.places.filter(({ zone, depthMm: at }) => zone === worst.zone && at !== null);
  const worstY = yOf(worst.depthMm ?? depthMm / 2);
  return (
    <figure class="layup-cut">
      <svg
        role="img"
        aria-label={say('picture.cut', { mm: number(depthMm, 1), place: placeText(worst) })}
        viewBox={`0 0 ${size} ${size}`}
        preserveAspectRatio="none"
      >
        {strips.map((c, i) => (
          <rect
            key={i}
            x="0"
            y={i * stripPx}
            width={size}
            height={stripPx + 1}
            fill={hue((c - minC) / (maxC - minC))}
          />
        ))}
        {lines.map(({ glueLine, depthMm: at }) => (
          <line
            key={glueLine}
            class="line-mark"
            x1="0"
            x2={size}
            y1={yOf(at ?? 0)}
            y2={yOf(at ?? 0)}
          />
        ))}
        <line class="worst-rim" x1="0" x2={size} y1={worstY} y2={worstY} />
        <line class="worst-line" x1="0" x2={size} y1={worstY} y2={worstY} />
        <rect class="frame" x="0" y="0" width={size} height={size} />
      </svg>
      <figcaption class="num" style={{ '--at': `${(worstY / size) * 100}%` }}>
        <span aria-hidden="true">◀</span> {worstText(trace, detail)}
      </figcaption>
    </figure>
  );
}
