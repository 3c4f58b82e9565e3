import { barPosition, cureBar, leastPost, mostPost } from '@setwell/shared-models/api/cure-bar';
import type { FloorLoad, VerdictToken } from '@setwell/shared-models/api/floor';
import type { CureInterval, JudgedPlace, Window } from '@setwell/shared-models/score/shape';
import { say } from '../language.ts';
import { bound, measure, measureHigh, measureLow, placeText, unitText } from '../phrase.ts';

const tokens: VerdictToken[] = ['not-yet', 'in-window', 'under', 'over', 'unproven'];

/** Hatches of all bars, once a page. */
export function Hatches() {
  return (
    <svg class="hatches" width="0" height="0" aria-hidden="true">
      {tokens.map((token) => (
        <pattern
          key={token}
          id={`hatch-${token}`}
          width="8"
          height="8"
          patternUnits="userSpaceOnUse"
          patternTransform="rotate(45)"
        >
          <rect class="fill-paper" width="8" height="8" />
          <rect class={`fill-${token}`} width="4" height="8" />
        </pattern>
      ))}
      <pattern
        id="hatch-later"
        width="5"
        height="5"
        patternUnits="userSpaceOnUse"
        patternTransform="rotate(-45)"
      >
        <rect class="fill-hatch-ink" width="1.5" height="5" />
      </pattern>
      <pattern
        id="hatch-ink"
        width="8"
        height="8"
        patternUnits="userSpaceOnUse"
        patternTransform="rotate(45)"
      >
        <rect class="fill-hatch-ink" width="4" height="8" />
      </pattern>
    </svg>
  );
}

/** The interval's numbers stand under its low end, and never on those of a post. */
const numbersStart = 0.14;
const numbersEnd = 0.4;

const percent = (share: number): string => `${(share * 100).toFixed(2)}%`;

/** The sentence that is the bar's name. */
function barSentence(
  cure: CureInterval,
  window: Window,
  unit: FloorLoad['unit'],
  place: string,
): string {
  const values = {
    low: measureLow(cure.low, window.least),
    high: measureHigh(cure.high, window.least),
    nominal: measure(cure.nominal, window.least),
    least: bound(window.least),
    unit: unitText(unit, true),
    place,
  };
  return window.most === null
    ? say('bar.labelNoMost', values)
    : say('bar.label', { ...values, most: bound(window.most) });
}

/**
 * The cure bar: solid is proven, hatched is possible, the posts are the window and never move.
 * Dashed where a point is silent or nothing comes any more.
 * Longer than the limit because a drawing is one list of shapes in the order they are painted.
 */
export function CureBar({
  place,
  window,
  unit,
  token,
  dashed = false,
  labelled = false,
  name = placeText(place),
  laterFrom = null,
}: {
  place: CureInterval & Pick<JudgedPlace, 'zone' | 'glueLine'>;
  window: Window;
  unit: FloorLoad['unit'];
  token: VerdictToken;
  dashed?: boolean;
  labelled?: boolean;
  /** What it is the bar of, said to those who cannot see it. */
  name?: string;
  /** A coat: beyond this later bakes have given it; null: none has. */
  laterFrom?: number | null;
}) {
  const bar = cureBar(place, window);
  const most = bar.most;
  const lowText = measureLow(place.low, window.least);
  const highText = measureHigh(place.high, window.least);
  return (
    <div class={labelled ? 'cure-bar labelled' : 'cure-bar'}>
      <svg
        role="img"
        aria-label={barSentence(place, window, unit, name)}
        width="100%"
        height="100%"
      >
        <rect
          class="trough"
          x={percent(bar.least)}
          y="10%"
          width={percent((most ?? 1) - bar.least)}
          height="80%"
        />
        <line class="base" x1="0" x2="100%" y1="90%" y2="90%" />
        <rect
          class={dashed ? 'edge proven-dashed' : `edge fill-${token}`}
          x="0"
          y="26%"
          width={percent(bar.low)}
          height="48%"
        />
        {laterFrom !== null && laterFrom < place.low && (
          <rect
            fill="url(#hatch-later)"
            x={percent(barPosition(laterFrom, window))}
            y="26%"
            width={percent(bar.low - barPosition(laterFrom, window))}
            height="48%"
          />
        )}
        <rect
          class="edge"
          fill={`url(#hatch-${token})`}
          x={percent(bar.low)}
          y="26%"
          width={percent(Math.max(0.002, bar.high - bar.low))}
          height="48%"
        />
        <line class="tick" x1={percent(bar.nominal)} x2={percent(bar.nominal)} y1="14%" y2="86%" />
        <line class="post" x1={percent(bar.least)} x2={percent(bar.least)} y1="0" y2="100%" />
        {most !== null && (
          <line class="post" x1={percent(most)} x2={percent(most)} y1="0" y2="100%" />
        )}
      </svg>
      {labelled && (
        <svg class="bar-numbers num" aria-hidden="true" width="100%" height="22">
          <text x={percent(bar.least)} y="17" text-anchor="middle">
            {bound(window.least)}
            {most === null ? ` ${unitText(unit)}` : ''}
          </text>
          {most !== null && (
            <text x={percent(most)} y="17" text-anchor="middle">
              {`${bound(window.most ?? 0)} ${unitText(unit)}`}
            </text>
          )}
          <text
            x={percent(Math.min(bar.low, numbersEnd))}
            y="17"
            text-anchor={bar.low < numbersStart ? 'start' : 'end'}
          >
            {say('bar.range', { low: lowText, high: highText })}
          </text>
        </svg>
      )}
    </div>
  );
}

/** The window alone, dashed: a load of which nothing has been read yet. */
export function EmptyBar({ window, unit }: { window: Window | null; unit: FloorLoad['unit'] }) {
  const most = window?.most ?? null;
  const bounds =
    window === null
      ? ''
      : say('bar.range', { low: bound(window.least), high: most === null ? '' : bound(most) });
  return (
    <div class="cure-bar">
      <svg
        role="img"
        aria-label={say('bar.empty', { window: bounds, unit: unitText(unit, true) })}
        width="100%"
        height="100%"
      >
        <rect class="edge proven-dashed" x="0" y="26%" width={percent(leastPost)} height="48%" />
        <line class="base" x1="0" x2="100%" y1="90%" y2="90%" />
        <line class="post" x1={percent(leastPost)} x2={percent(leastPost)} y1="0" y2="100%" />
        {most !== null && (
          <line class="post" x1={percent(mostPost)} x2={percent(mostPost)} y1="0" y2="100%" />
        )}
      </svg>
    </div>
  );
}
