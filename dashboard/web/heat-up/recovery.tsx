import type { FaceHistory } from '@setwell/shared-models/api/heat-up';
import { shownDifference } from '../degrees.ts';
import { say } from '../language.ts';
import { clock, day, differenceUnit, number } from '../phrase.ts';
import { bandPath, Drawing, Foot, Grid, linePath } from './drawing.tsx';

/** The newest charge of one face: how far it fell, and how it came back, over where 8 of 10 lay. */
export function Recovery({ history, face }: { history: FaceHistory; face: string }) {
  const { recovery } = history;
  if (recovery === null) return <p>{say('heat.recovery.none')}</p>;
  const { newest, usual } = recovery;
  const halves = Math.max(4, newest.belowK.length - 1, (usual?.highK.length ?? 1) - 1);
  const known = [...newest.belowK, ...(usual?.highK ?? [])].filter((k) => k !== null);
  const mostK = Math.ceil(Math.max(4, ...known)) + 1;
  const stepK = mostK > 8 ? 5 : 2;
  const gridK = Array.from({ length: Math.floor(mostK / stepK) + 1 }, (_, i) => i * stepK);
  const heading = say('heat.recovery', {
    face,
    day: day(newest.atMs),
    clock: clock(newest.atMs),
    n: usual?.charges ?? 0,
  });
  return (
    <section class="section">
      <h2>{heading}</h2>
      <Drawing label={heading} heightPx={260}>
        {(area) => {
          const x = (half: number) => area.x(half / halves);
          const y = (belowK: number) => area.y(1 - (belowK + 1) / (mostK + 1));
          const lines = gridK.map((k) => ({
            y: y(k),
            text: k === 0 ? '0' : `−${number(shownDifference(k), 0)}`,
          }));
          const minutes = [0, 0.5, 1].map((share) => ({
            x: area.x(share),
            text: say('heat.recovery.min', { min: number((share * halves) / 2, 0) }),
          }));
          return (
            <>
              <Grid area={area} lines={lines} />
              <text class="soft" x={area.leftPx + 8} y={y(mostK) - 4}>
                {differenceUnit()}
              </text>
              {usual !== null && <path class="usual" d={bandPath(usual.lowK, usual.highK, x, y)} />}
              <path class="today" d={linePath(newest.belowK, x, y)} />
              {usual !== null && (
                <text class="soft" x={area.x(1)} y={y(mostK * 0.62)} text-anchor="end">
                  {say('heat.recovery.usual')}
                </text>
              )}
              <text class="strong" x={area.x(1)} y={y(mostK * 0.62) + 24} text-anchor="end">
                ━ {say('heat.recovery.newest')}
              </text>
              <Foot area={area} words={minutes} />
            </>
          );
        }}
      </Drawing>
    </section>
  );
}
