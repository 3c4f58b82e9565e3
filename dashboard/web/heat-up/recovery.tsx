import type { FaceHistory } from '@setwell/shared-models/api/heat-up';
import { shownDifference } from '../degrees.ts';
import { say } from '../language.ts';
import { clock, day, differenceUnit, number } from '../phrase.ts';
import { useWidth } from '../width.ts';
import { bandPath, linePath } from './curve.tsx';

const heightPx = 260;
const leftPx = 64;
const rightPx = 12;
const footPx = 30;

/** The newest charge of one face: how far it fell, and how it came back, over where 8 of 10 lay. */
export function Recovery({ history, face }: { history: FaceHistory; face: string }) {
  const [ref, widthPx] = useWidth();
  const { recovery } = history;
  if (recovery === null) return <p>{say('heat.recovery.none')}</p>;
  const { newest, usual } = recovery;
  const halves = Math.max(4, newest.belowK.length - 1, (usual?.highK.length ?? 1) - 1);
  const known = [...newest.belowK, ...(usual?.highK ?? [])].filter((k) => k !== null);
  const mostK = Math.ceil(Math.max(4, ...known)) + 1;
  const x = (half: number) => leftPx + (half / halves) * (widthPx - leftPx - rightPx);
  const y = (belowK: number) => 8 + ((belowK + 1) / (mostK + 1)) * (heightPx - footPx - 8);
  const stepK = mostK > 8 ? 5 : 2;
  const grid = Array.from({ length: Math.floor(mostK / stepK) + 1 }, (_, i) => i * stepK);
  const heading = say('heat.recovery', {
    face,
    day: day(newest.atMs),
    clock: clock(newest.atMs),
    n: usual?.charges ?? 0,
  });
  return (
    <section class="section">
      <h2>{heading}</h2>
      <div ref={ref}>
        <svg
          viewBox={`0 0 ${widthPx} ${heightPx}`}
          width={widthPx}
          height={heightPx}
          role="img"
          aria-label={heading}
        >
          {grid.map((k) => (
            <g key={k}>
              <line class="grid" x1={leftPx} x2={widthPx} y1={y(k)} y2={y(k)} />
              <text class="soft" x={leftPx - 8} y={y(k) + 5} text-anchor="end">
                {k === 0 ? '0' : `−${number(shownDifference(k), 0)}`}
              </text>
            </g>
          ))}
          <text class="soft" x={leftPx + 8} y={y(mostK) - 4}>
            {differenceUnit()}
          </text>
          {usual !== null && <path class="usual" d={bandPath(usual.lowK, usual.highK, x, y)} />}
          <path class="today" d={linePath(newest.belowK, x, y)} />
          {usual !== null && (
            <text class="soft" x={x(halves * 0.55)} y={y(mostK * 0.62)}>
              {say('heat.recovery.usual')}
            </text>
          )}
          <text class="strong" x={x(halves * 0.55)} y={y(mostK * 0.62) + 24}>
            ━ {say('heat.recovery.newest')}
          </text>
          {[0, 0.5, 1].map((share, i) => (
            <text
              key={share}
              class="soft"
              x={x(share * halves)}
              y={heightPx - 6}
              text-anchor={i === 0 ? 'start' : i === 2 ? 'end' : 'middle'}
            >
              {say('heat.recovery.min', { min: number((share * halves) / 2, 0) })}
            </text>
          ))}
        </svg>
      </div>
    </section>
  );
}
