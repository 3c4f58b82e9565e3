import type { FloorLoad } from '@setwell/shared-models/api/floor';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import { say } from '../language.ts';
import { clock, clockS } from '../phrase.ts';
import { silentTimes, xOf, type Plot, type Span } from './plot.ts';

/** Closer to the left than this, the words for "now" go a line down. */
const nowPx = 120;

/** One band of what was read, with the gaps cut out; and the time axis of all three. */
export function DataStrip({
  trace,
  load,
  plot,
  span,
}: {
  trace: LoadTrace;
  load: FloorLoad;
  plot: Plot;
  span: Span;
}) {
  const from = Math.max(plot.fromMs, trace.timesMs[0] ?? plot.fromMs);
  const to = Math.min(plot.toMs, trace.timesMs[trace.timesMs.length - 1] ?? plot.fromMs);
  const asOf = load.endMs ?? load.asOfMs;
  const silent = silentTimes(trace.gaps, asOf);
  const seconds = silent.reduce((sum, gap) => sum + (gap.toMs - gap.fromMs) / 1000, 0);
  const text =
    silent.length === 0
      ? say('picture.gaps.none')
      : say(silent.length === 1 ? 'picture.gaps.one' : 'picture.gaps.more', {
          n: silent.length,
          s: Math.round(seconds),
        });
  const endMs = span === null ? asOf : plot.toMs;
  const endX = Math.min(plot.widthPx, xOf(plot, endMs));
  const endText =
    span === null
      ? say(load.state === 'open' ? 'picture.now' : 'picture.until', { clock: clock(asOf) })
      : clockS(endMs);
  const seen = silent.filter((gap) => gap.toMs > plot.fromMs && gap.fromMs < plot.toMs);
  return (
    <svg role="img" aria-label={`${say('picture.data')}: ${text}`} width={plot.widthPx} height="66">
      <rect
        class="data-strip"
        x={xOf(plot, from)}
        y="6"
        width={Math.max(0, xOf(plot, to) - xOf(plot, from))}
        height="12"
      />
      {seen.map((gap) => {
        const x = xOf(plot, Math.max(plot.fromMs, gap.fromMs));
        const width = Math.max(3, xOf(plot, Math.min(plot.toMs, gap.toMs)) - x);
        return <rect key={gap.fromMs} class="gap-mark" x={x} y="4" width={width} height="16" />;
      })}
      <text class="soft num" x={plot.leftPx} y="40">
        {span === null ? clock(plot.fromMs) : clockS(plot.fromMs)}
      </text>
      <text
        class="strong num"
        x={endX}
        y={endX - plot.leftPx > nowPx ? 40 : 60}
        text-anchor={endX > plot.widthPx - 60 ? 'end' : 'middle'}
      >
        {endText}
      </text>
      <text class="soft num" x={plot.leftPx} y="62">
        {`${say('picture.data')}: ${text}`}
      </text>
    </svg>
  );
}
