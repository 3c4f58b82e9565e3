import type { FaceHistory } from '@setwell/shared-models/api/heat-up';
import { gridC } from '../load/plot.ts';
import { degrees } from '../degrees.ts';
import { say } from '../language.ts';
import { clock, shownTemperature } from '../phrase.ts';
import { bandPath, Drawing, Foot, Grid, linePath, type Area } from './drawing.tsx';

/** The newest heat-up of one face, over where those of like start lay. */
export function Curve({ history, face }: { history: FaceHistory; face: string }) {
  const { newest, usual, readyC } = history;
  const curveC = newest?.curveC ?? [];
  const ready = curveC.findIndex((c) => c !== null && readyC !== null && c >= readyC);
  const heading =
    usual === null
      ? say('heat.curve.few', { face })
      : say('heat.curve', {
          face,
          n: usual.heatUps,
          low: shownTemperature(usual.startLowC, 0),
          high: shownTemperature(usual.startHighC, 0),
          degrees: degrees.value,
        });
  const label = say('heat.curve.alt', {
    face,
    minutes: ready < 0 ? '–' : say('heat.min', { min: ready }),
    n: usual?.heatUps ?? 0,
  });
  return (
    <section class="section">
      <h2>{heading}</h2>
      <Drawing label={label} heightPx={300}>
        {(area) => <Lines history={history} area={area} />}
      </Drawing>
    </section>
  );
}

function Lines({ history, area }: { history: FaceHistory; area: Area }) {
  const { newest, usual, readyC } = history;
  const curveC = newest?.curveC ?? [];
  const shown = [...curveC, ...(usual?.lowC ?? []), ...(usual?.highC ?? [])].filter(
    (c) => c !== null,
  );
  const minutes = Math.max(10, curveC.length - 1, (usual?.lowC.length ?? 1) - 1);
  const minC = Math.min(...shown, readyC ?? 20) - 4;
  const maxC = Math.max(...shown, readyC ?? 20) + 4;
  const x = (minute: number) => area.x(minute / minutes);
  const y = (c: number) => area.y((c - minC) / (maxC - minC));
  const lines = gridC(minC, maxC).map((c) => ({ y: y(c), text: shownTemperature(c, 0) }));
  const startMs = newest?.startMs ?? 0;
  const times = [0, 0.25, 0.5, 0.75, 1].map((share) => {
    const minute = Math.round(share * minutes);
    return { x: x(minute), text: clock(startMs + minute * 60_000) };
  });
  return (
    <>
      <Grid area={area} lines={lines} />
      {usual !== null && <path class="usual" d={bandPath(usual.lowC, usual.highC, x, y)} />}
      {readyC !== null && (
        <line class="ready" x1={area.x(0)} x2={area.x(1)} y1={y(readyC)} y2={y(readyC)} />
      )}
      <path class="today" d={linePath(curveC, x, y)} />
      {usual !== null && (
        <text class="soft" x={area.x(1)} y={area.y(0.32)} text-anchor="end">
          {say('heat.curve.usual')}
        </text>
      )}
      {curveC.length > 1 && (
        <text class="strong" x={area.x(1)} y={area.y(0.2)} text-anchor="end">
          ━ {say('heat.curve.today')}
        </text>
      )}
      {newest !== null && <Foot area={area} words={times} />}
    </>
  );
}
