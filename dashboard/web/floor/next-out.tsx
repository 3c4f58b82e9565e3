import { nextOut, verdictToken, type NextOut } from '@setwell/shared-models/api/floor';
import { fetched, live, rowMs } from '../live.ts';
import { say } from '../language.ts';
import { clockUp } from '../phrase.ts';
import { useWidth } from '../width.ts';

const shownMin = 60;
/** The last tick stands before the edge, so that its words fit. */
const share = 0.96;
/** Closer than this, two names would touch: the later one goes a line up, or is left to the sign alone [px]. */
const namePx = 92;
const laterShown = 4;

interface Dot extends NextOut {
  /** Share of the line. */
  at: number;
  /** Line of its name, from below; null where none has room. */
  level: number | null;
}

/** A name stands right of its dot, or left of it near the edge. */
const isAtEdge = (at: number, widthPx: number): boolean => at * widthPx > widthPx - namePx;

/** Where each dot stands, and on which of two lines its name does not touch another. */
function placed(soon: NextOut[], widthPx: number): Dot[] {
  const ends = [-1, -1];
  const name = namePx / widthPx;
  return soon.map(({ load, inMin }, i) => {
    const before = soon[i - 1];
    const isSame = before?.inMin === inMin && before.load.station === load.station;
    const at = (inMin / shownMin) * share;
    const from = isAtEdge(at, widthPx) ? at - name : at;
    const free = isSame ? -1 : ends.findIndex((end) => end <= from);
    if (free >= 0) ends[free] = from + name;
    return { load, inMin, at, level: free >= 0 ? free : null };
  });
}

const percent = (share: number): string => `${(share * 100).toFixed(2)}%`;

function Axis() {
  return (
    <>
      <line class="axis" x1="0" x2="100%" y1="48" y2="48" />
      {[0, 10, 20, 30, 40, 50, 60].map((min) => {
        const x = percent((min / shownMin) * share);
        return (
          <g key={min}>
            <line class="axis" x1={x} x2={x} y1="43" y2="53" />
            <text
              class="soft num"
              x={x}
              y="71"
              text-anchor={min === 0 ? 'start' : min === shownMin ? 'end' : 'middle'}
            >
              {min === 0 ? say('time.now') : `+${min}`}
            </text>
          </g>
        );
      })}
    </>
  );
}

function Name({ dot, widthPx }: { dot: Dot; widthPx: number }) {
  const atEdge = isAtEdge(dot.at, widthPx);
  return (
    <text
      class="id strong"
      x={percent(dot.at)}
      dx={atEdge ? -12 : 12}
      text-anchor={atEdge ? 'end' : 'start'}
      y={dot.level === 0 ? 35 : 16}
    >
      {dot.load.station}
    </text>
  );
}

/** One clock line: what comes out in the next hour, and when. */
export function NextOutLine() {
  const [ref, widthPx] = useWidth();
  const now = rowMs.value;
  const coming = nextOut(live.value, now);
  const soon = coming.filter(({ inMin }) => inMin <= shownMin);
  const later = coming.filter(({ inMin }) => inMin > shownMin).slice(0, laterShown);
  const list = soon
    .map(({ load, inMin }) =>
      inMin === 0
        ? say('next.itemNow', { station: load.station })
        : say('next.item', { station: load.station, min: inMin }),
    )
    .join(', ');
  const laterList = later
    .map(({ load }) =>
      say('next.laterItem', {
        station: load.station,
        clock: clockUp(load.forecast?.provenAtMs ?? now, now),
      }),
    )
    .join(' · ');
  const dots = widthPx === null ? [] : placed(soon, widthPx);
  return (
    <section class={list === '' ? 'next nothing' : 'next'} aria-label={say('next.title')}>
      <h2>{say('next.title')}</h2>
      {list === '' && fetched.value && <span class="soft"> · {say('next.none')}</span>}
      {laterList !== '' && <span class="later">{say('next.later', { list: laterList })}</span>}
      <div ref={ref}>
        <svg
          role="img"
          aria-label={list === '' ? say('next.title') : say('next.label', { list })}
          width="100%"
          height="74"
        >
          <Axis />
          {dots.map((dot) => (
            <g key={dot.load.load}>
              <circle
                class={`edge fill-${verdictToken(dot.load)}`}
                cx={percent(dot.at)}
                cy="48"
                r="8"
              />
              {dot.level !== null && widthPx !== null && <Name dot={dot} widthPx={widthPx} />}
            </g>
          ))}
        </svg>
      </div>
    </section>
  );
}
