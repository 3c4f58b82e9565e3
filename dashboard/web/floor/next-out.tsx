import { nextOut, verdictToken } from '@setwell/shared-models/api/floor';
import { live, rowMs } from '../live.ts';
import { say } from '../language.ts';
import { clockFrom } from '../phrase.ts';

const shownMin = 60;
/** The last tick stands before the edge, so that its words fit. */
const share = 0.96;
/** Closer than this share of the line, two names would touch: the later one goes a line up. */
const nameShare = 0.085;
const laterShown = 4;

/** One clock line: what comes out in the next hour, and when. */
export function NextOutLine() {
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
  const ends: number[] = [];
  const placed = soon.map(({ load, inMin }) => {
    const at = (inMin / shownMin) * share;
    const level = Math.max(
      0,
      ends.findIndex((end) => end <= at),
    );
    const free = ends.length < 2 && ends.every((end) => end > at) ? ends.length : level;
    ends[free] = at + nameShare;
    return { load, at, level: Math.min(1, free) };
  });
  return (
    <section class="next" aria-label={say('next.title')}>
      <h2>{say('next.title')}</h2>
      {later.length > 0 && (
        <span class="later">
          {say('next.later', {
            list: later
              .map(({ load }) =>
                say('next.laterItem', {
                  station: load.station,
                  clock: clockFrom(load.forecast?.provenAtMs ?? now, now),
                }),
              )
              .join(' · '),
          })}
        </span>
      )}
      <svg
        role="img"
        aria-label={list === '' ? say('next.none') : say('next.label', { list })}
        width="100%"
        height="74"
      >
        <line class="axis" x1="0" x2="100%" y1="48" y2="48" />
        {[0, 10, 20, 30, 40, 50, 60].map((min) => (
          <g key={min}>
            <line
              class="axis"
              x1={`${(min / shownMin) * share * 100}%`}
              x2={`${(min / shownMin) * share * 100}%`}
              y1="43"
              y2="53"
            />
            <text class="soft num" x={`${(min / shownMin) * share * 100}%`} y="71">
              {min === 0 ? say('time.now') : `+${min}`}
            </text>
          </g>
        ))}
        {placed.map(({ load, at, level }) => (
          <g key={load.load}>
            <circle class={`edge fill-${verdictToken(load)}`} cx={`${at * 100}%`} cy="48" r="8" />
            <text class="id strong" x={`${at * 100 + 0.8}%`} y={level === 0 ? 35 : 16}>
              {load.station}
            </text>
          </g>
        ))}
      </svg>
    </section>
  );
}
